// Open points of records of any type: conflicts, labels, photos, devices. Twin: server/spanwalk/rules/points/records.py.

import { facet, has, inOrder, pushTo } from '../survey.js';
import { boundLabels } from './found.js';

/** @typedef {import('./found.js').Seen} Seen */
/** @typedef {import('./found.js').Found} Found */

/** Facets that two people changed apart; one point for a record and facet. @param {Seen} seen @returns {Found[]} */
export function conflict(seen) {
  return seen.survey.all.flatMap((record) => {
    const names = [...new Set(record.conflicts.map((each) => each.facet))].sort(inOrder);
    return names
      .filter((name) => !isToldOtherwise(seen, record, name))
      .map((name) => {
        const values = record.conflicts.filter((each) => each.facet === name).length + 1;
        return { record: record.id, room: seen.survey.roomOf(record), facts: { facet: name, values } };
      });
  });
}

/** @param {Seen} seen @param {ViewRecord} record @param {string} name */
function isToldOtherwise(seen, record, name) {
  return (
    (name === 'life' && seen.survey.orphans(record).length > 0) ||
    (record.type === 'label' && name === 'binding')
  );
}

/** Removed rooms, groups and the like under which something still lives that is no record of work. @param {Seen} seen @returns {Found[]} */
export function removedWithChildren(seen) {
  return seen.survey.all.flatMap((record) => {
    const { length: children } = seen.survey.orphans(record);
    const facts = { children, type: record.type };
    return children > 0 ? [{ record: record.id, room: seen.survey.roomOf(record), facts }] : [];
  });
}

/** Labels whose one code was bound to two fixtures. @param {Seen} seen @returns {Found[]} */
export function codeOnTwoFixtures(seen) {
  return seen.survey
    .ofType('label')
    .filter((label) => label.conflicts.some((each) => each.facet === 'binding'))
    .map((label) => ({
      record: label.id,
      room: roomOfLabel(seen, label),
      facts: { code: facet(label, 'identity').code ?? '' },
    }));
}

/** Fixtures that bear two labels; one point for a fixture. @param {Seen} seen @returns {Found[]} */
export function twoCodesOnAFixture(seen) {
  /** @type {Map<string, ViewRecord[]>} */
  const sets = new Map();
  for (const label of boundLabels(seen)) {
    const { group, position } = facet(label, 'binding');
    pushTo(sets, `${group} ${position}`, label);
  }
  return [...sets.values()]
    .filter((labels) => labels.length > 1)
    .map((labels) => ({
      record: labels[0].id,
      room: roomOfLabel(seen, labels[0]),
      facts: {
        codes: labels
          .map((label) => facet(label, 'identity').code ?? '')
          .sort(inOrder)
          .join(', '),
        position: facet(labels[0], 'binding').position,
      },
    }));
}

/** @param {Seen} seen @param {ViewRecord} label */
function roomOfLabel(seen, label) {
  return roomOfSubject(seen, facet(label, 'binding').group);
}

/** @param {Seen} seen @param {string | undefined} id */
function roomOfSubject(seen, id) {
  const subject = seen.survey.get(id);
  return subject && seen.survey.roomOf(subject);
}

/** Photos that somebody took and whose picture is not on the server yet. @param {Seen} seen @returns {Found[]} */
export function photoNotArrived(seen) {
  const { photosArrived } = seen;
  if (photosArrived === null) return [];
  return seen.survey
    .ofType('photo')
    .filter((photo) => !photosArrived.has(facet(photo, 'identity').sha256))
    .map((photo) => ({
      record: photo.id,
      room: roomOfSubject(seen, facet(photo, 'identity').subject),
      facts: { purpose: facet(photo, 'identity').purpose ?? '' },
    }));
}

/**
 * Devices that said that they hold work which they have not sent; where only photos are missing, each of them is told
 * already, by the rule before this one.
 *
 * @param {Seen} seen
 * @returns {Found[]}
 */
export function unsentWork(seen) {
  const told = photoNotArrived(seen).length;
  return seen.devices
    .filter((device) => device.operations > 0 || device.photos > told)
    .map(({ id, person, operations, photos, since }) => ({
      record: id,
      room: undefined,
      facts: { person, operations, photos, since },
    }));
}

/** Figures that a manager set for the site and that cannot stand in place of the tables'. @param {Seen} seen @returns {Found[]} */
export function figureNotUsed(seen) {
  return seen.figuresNotUsed.map(({ record, row, why }) => ({
    record,
    room: undefined,
    facts: { row, why },
  }));
}

/** Questions that nobody has answered. @param {Seen} seen @returns {Found[]} */
export function questionOpen(seen) {
  return seen.survey
    .ofType('question')
    .filter((question) => !has(question, 'answer'))
    .map((question) => ({
      record: question.id,
      room: roomOfSubject(seen, facet(question, 'identity').subject),
      facts: { question: facet(question, 'identity').question ?? '' },
    }));
}
