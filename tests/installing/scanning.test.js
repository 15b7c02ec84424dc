// The scanner without a camera: what is asked of one, what is ours in sight, and how hard a picture is looked at.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { whatToDo } from '../../pwa/views/scanning/camera.js';
import { isOn } from '../../pwa/views/crew/heard.js';
import { codesIn } from '../../pwa/views/scanning/labels_in_view.js';
import { FRAME_GAP_MS, openCamera } from '../../pwa/views/scanning/look.js';
import { keeper } from '../../pwa/views/scanning/reader.js';
import {
  byItsSurroundings,
  focused,
  grey,
  pictureOf,
  WAYS,
} from '../../pwa/views/scanning/scan_worker_pictures.js';
import { HARDER_EACH, Reading } from '../../pwa/views/scanning/scan_worker_reading.js';

/** A camera that can no more than so many pixels a row. @param {number} px */
const cameraOf =
  (px) =>
  async (/** @type {any} */ { video }) => {
    if (video.width?.min > px) throw new DOMException('', 'OverconstrainedError');
    return video;
  };
const blank = { data: new Uint8ClampedArray(4 * 64 * 64).fill(200), width: 64, height: 64 };

test('1,920 pixels a row are asked for, and a camera without them gives what it has', async () => {
  assert.equal(/** @type {any} */ (await openCamera(cameraOf(1920))).width.min, 1920);
  assert.deepEqual(/** @type {any} */ (await openCamera(cameraOf(1280))).width, { ideal: 1280 });
});

test('who refuses the camera is not asked again', async () => {
  let asked = 0;
  const refused = async () => {
    asked += 1;
    throw new DOMException('', 'NotAllowedError');
  };
  await assert.rejects(openCamera(refused), { name: 'NotAllowedError' });
  assert.equal(asked, 1);
});

test('of a film of 30 frames a second not more than one in three is looked at', () => {
  assert.ok(FRAME_GAP_MS >= 3 * (1000 / 30));
});

test('labels of ours in sight are told apart from other codes, each once', () => {
  const texts = ['HTTPS://WALK.EXAMPLE.ORG/F/0000016JD', 'https://example.org/menu', '0000016JD'];
  assert.deepEqual(codesIn(texts), ['0000016JD']);
  assert.deepEqual(codesIn(['https://example.org/menu']), []);
});

test('sound and buzz are on until somebody turns them off', () => {
  assert.ok(isOn('sound') && isOn('buzz'));
});

/** A reader that reads nothing, or always the same, and how often it looked. @param {string[]} texts */
function readerOf(texts) {
  const told = { looks: 0 };
  const read = async () => {
    told.looks += 1;
    return texts;
  };
  return { told, reading: new Reading(read, null) };
}

test('a frame that is read at once is looked at once', async () => {
  const { told, reading } = readerOf(['A']);
  assert.deepEqual(await reading.frame(blank), ['A']);
  assert.equal(told.looks, 1);
});

test('of the frames that say nothing one in three is looked at harder', async () => {
  const { told, reading } = readerOf([]);
  for (let frame = 0; frame < 2 * HARDER_EACH; frame += 1) assert.deepEqual(await reading.frame(blank), []);
  assert.equal(HARDER_EACH, 3);
  assert.equal(told.looks, 2 * HARDER_EACH + 2);
});

test('a still picture is looked at in every way before it is given up', async () => {
  const { told, reading } = readerOf([]);
  assert.deepEqual(await reading.still(blank), []);
  assert.equal(told.looks, 1 + WAYS.length);
});

test('an edge that was smeared is steeper after focusing', () => {
  const lights = new Float32Array(64 * 64);
  for (let at = 0; at < lights.length; at += 1)
    lights[at] = 20 + 200 / (1 + Math.exp(-((at % 64) - 32) / 1.1));
  const steepest = (/** @type {Float32Array} */ row) =>
    Math.max(
      ...[...row.slice(64 * 32 + 9, 64 * 33 - 9)].map((light, at, all) => light - (all[at - 1] ?? light)),
    );
  const sharp = focused({ lights, width: 64, height: 64 }, 2, 10);
  assert.ok(steepest(sharp.lights) > 1.3 * steepest(lights));
});

test('a slow shadow is no edge in black and white by the surroundings', () => {
  const lights = Float32Array.from({ length: 64 * 64 }, (_, at) => 60 + 2 * (at % 64));
  const flat = byItsSurroundings({ lights, width: 64, height: 64 }, 6).lights.slice(64 * 32 + 8, 64 * 33 - 8);
  assert.ok(Math.max(...flat) - Math.min(...flat) < 1);
  assert.deepEqual([...pictureOf(grey(blank)).data.slice(0, 4)], [200, 200, 200, 255]);
});

test('a camera or a reader that does not work is told with what to do, whatever the browser calls it', () => {
  const called = (/** @type {string} */ name) => whatToDo(new DOMException('', name));
  assert.equal(called('NotAllowedError'), 'crew.camera-refused');
  assert.equal(called('NotFoundError'), 'crew.camera-none');
  assert.equal(called('NotReadableError'), 'crew.camera-busy');
  assert.equal(called('NetworkError'), 'crew.scanner-not-here');
  assert.equal(called('NotSupportedError'), 'scanner.reader-broken');
  assert.equal(called('TimeoutError'), 'scanner.camera-dark');
  assert.equal(called('SomethingNewError'), 'crew.camera-busy');
  assert.equal(whatToDo(undefined), 'crew.camera-busy');
});

/** A page that has time when told, and readers that are counted. */
function aroundReaders() {
  const told = { made: 0, ended: 0, seen: true };
  /** @type {(() => void)[]} */
  const idle = [];
  const kept = keeper({
    make: () => {
      told.made += 1;
      return told.made;
    },
    end: () => {
      told.ended += 1;
    },
    whenIdle: (run) => idle.push(run),
    isSeen: () => told.seen,
  });
  return { told, kept, haveTime: () => idle.splice(0).forEach((run) => run()) };
}

test('the reader is made while the page has nothing to do, and that one looks', () => {
  const { told, kept, haveTime } = aroundReaders();
  kept.soon();
  kept.soon();
  assert.equal(told.made, 0);
  haveTime();
  assert.equal(told.made, 1);
  assert.equal(kept.take(), 1);
  haveTime();
  assert.equal(told.made, 1, 'while one scans, no other is made');
});

test('a tap that is quicker has a reader at once, and no second one follows', () => {
  const { told, kept, haveTime } = aroundReaders();
  kept.soon();
  assert.equal(kept.take(), 1);
  haveTime();
  assert.deepEqual(told, { made: 1, ended: 0, seen: true });
});

test('while nobody sees the page no reader is made, and the one that waited is let go', () => {
  const { told, kept, haveTime } = aroundReaders();
  kept.soon();
  haveTime();
  told.seen = false;
  kept.seenOrNot();
  assert.deepEqual([told.made, told.ended], [1, 1]);
  kept.soon();
  haveTime();
  assert.equal(told.made, 1);
  told.seen = true;
  kept.seenOrNot();
  haveTime();
  assert.equal(told.made, 2);
});
