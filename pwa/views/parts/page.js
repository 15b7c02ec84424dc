// The frame of every screen: its title and the way back, its content, the places, the sync line at the foot.

import { useEffect, useLayoutEffect, useRef } from 'preact/hooks';
import { html } from '../html.js';
import { hasMoved } from '../navigate.js';
import { Bar, useBarAtTheSide } from './bar.js';
import { useFoot } from './foot.js';
import { GoneNotice } from './gone_notice.js';
import { JustSaved } from './just_saved.js';
import { SyncLine } from './sync_line.js';
import { say } from '../words.js';

/**
 * @param {object} props
 * @param {string} props.title
 * @param {string} [props.over] what it is part of, small above the title
 * @param {string} [props.back] address of the screen above
 * @param {Child} [props.end] at the right of the title
 * @param {string} [props.look] further classes of the page: 'desk'; 'form' hides the bar at a phone's foot
 * @param {string | null} [props.site] id of the site: of whose places the bar is, and for what the sync line leads to
 * @param {Child} [props.act] what is done most here: at the foot, in reach of the thumb, however long the page is
 * @param {boolean} [props.isFrame] what it shows is still to come: nothing is counted for its bar before that
 * @param {Child} [props.children]
 */
export function Page({ title, over, back, end, look = '', site = null, act, isFrame = false, children }) {
  const atTheSide = useBarAtTheSide();
  const heading = useRef(/** @type {HTMLElement | null} */ (null));
  const content = useRef(/** @type {HTMLElement | null} */ (null));
  useEffect(() => {
    document.title = `${title} · Spanwalk`;
  }, [title]);
  const foot = useFoot();
  const hasAct = Boolean(act);
  // By class: a selector that looks what is in the foot has every element styled anew when that goes.
  useLayoutEffect(() => {
    document.documentElement.classList.toggle('with-act', hasAct);
    return () => document.documentElement.classList.remove('with-act');
  }, [hasAct]);
  // Who came here by a key goes on from the title, not from the top of the document.
  useEffect(() => {
    if (hasMoved() && document.activeElement === document.body)
      heading.current?.focus({ preventScroll: true });
  }, []);
  const skip = (/** @type {Event} */ event) => {
    event.preventDefault();
    content.current?.focus();
  };
  const bar = site !== null && html`<${Bar} site=${site} isFrame=${isFrame} />`;
  return html`<div class="page ${look} ${site === null ? '' : 'with-bar'}">
    ${bar && html`<a class="skip-link" href="#content" onClick=${skip}>${say('places.skip')}</a>`}
    <header class="top">
      ${back ? html`<a class="back" href=${back} aria-label=${say('page.back')}>←</a>` : html`<span></span>`}
      <h1 tabindex="-1" ref=${heading}>${over && html`<span class="over">${over}</span>`}${title}</h1>
      <div>${end}</div>
    </header>
    ${atTheSide && bar}
    <main id="content" tabindex="-1" ref=${content}><${GoneNotice} site=${site} /><${JustSaved} site=${site} />${children}</main>
    <div class=${hasAct ? 'foot with-act' : 'foot'} ref=${foot}>
      ${act && html`<section class="act" aria-label=${say('page.done-here')}>${act}</section>`}
      <${SyncLine} site=${site} />
      ${!atTheSide && bar}
    </div>
  </div>`;
}
