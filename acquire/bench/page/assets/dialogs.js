// The windows over the page: cautions, more, and those that ask for a reason.

import { by, items, make, text } from './dom.js';
import { setSound, sounding } from './sound.js';
import { blind, digits } from './words.js';

/** Whether a window is open. */
export const open = () => document.querySelector('dialog[open]') !== null;

/** Closes whatever is open, as when the state has gone on. */
export function closeAll() {
  for (const d of document.querySelectorAll('dialog[open]')) if (d.dataset.stays !== 'yes') d.close();
}

function dialog(id, title, stays, ...children) {
  const shut = make('button', { type: 'button', className: 'shut' }, 'Close ', make('kbd', { 'aria-hidden': 'true' }, 'Esc'));
  const d = make('dialog', { id, 'aria-labelledby': `${id}-title`, 'data-stays': stays ? 'yes' : 'no' },
    make('div', { className: 'dialog-head' }, make('h2', { id: `${id}-title` }, title), shut), ...children);
  shut.addEventListener('click', () => d.close());
  d.addEventListener('click', (e) => { if (e.target === d) d.close(); });
  by('dialogs').append(d);
  return d;
}

/** The cautions. */
export function cautions() {
  const list = make('ul', { className: 'cautions' });
  const d = dialog('cautions', 'Cautions', true, list);
  return (s) => {
    items(list, s?.cautions ?? []);
    d.showModal();
  };
}

/**
 * A window that asks for a reason. `reasons` are common ones, each with a number
 * as its key; `must` refuses an empty one. `done(text)` gets it.
 */
export function reason(id, title, words, reasons, must, verb) {
  const error = make('p', { className: 'wrong', id: `${id}-error`, role: 'alert' });
  const field = make('input', { type: 'text', id: `${id}-text`, maxLength: 300, autocomplete: 'off', 'aria-describedby': `${id}-error`, enterKeyHint: 'done' });
  const choices = reasons.map((r, i) => {
    const b = make('button', { type: 'button', className: 'choice' }, make('kbd', { 'aria-hidden': 'true' }, String(i + 1)), ` ${r}`);
    b.setAttribute('aria-keyshortcuts', String(i + 1));
    b.addEventListener('click', () => finish(r));
    return b;
  });
  const say = make('p', {}, words);
  const form = make('form', {}, make('p', { className: 'field' }, make('label', { for: `${id}-text` }, reasons.length ? 'Or in your words' : must ? 'Why' : 'Why, if there is more to say'), field), error,
    make('button', { type: 'submit', className: 'big' }, make('span', { className: 'name' }, verb), make('kbd', { 'aria-hidden': 'true' }, 'Enter')));
  const d = dialog(id, title, false, say, make('div', { className: 'choices' }, ...choices), form);
  let done = null;
  function finish(t) {
    if (must && !t.trim()) {
      text(error, 'A reason is needed.');
      field.focus();
      return;
    }
    d.close();
    done(t.trim());
  }
  form.addEventListener('submit', (e) => {
    e.preventDefault();
    finish(field.value);
  });
  d.addEventListener('keydown', (e) => {
    const i = Number(e.key) - 1;
    if (e.target === field && field.value !== '') return;
    if (choices[i] && !e.repeat) {
      e.preventDefault();
      choices[i].click();
    }
  });
  return (take, what) => {
    done = take;
    field.value = '';
    text(error, '');
    if (what) text(say, what);
    d.showModal();
    (choices[0] ?? field).focus();
  };
}

const looks = [['', 'as the system'], ['light', 'bright'], ['dark', 'dark']];

/** Shows the page bright or dark; '' leaves it to the system. */
export function setLook(name) {
  if (name) document.documentElement.dataset.look = name;
  else delete document.documentElement.dataset.look;
  localStorage.setItem('look', name);
}

/** Settings, what the keys do, and the results so far. */
export function more({ results, look }) {
  const radios = looks.map(([value, name]) => {
    const r = make('input', { type: 'radio', name: 'look', value, checked: (localStorage.getItem('look') ?? '') === value });
    r.addEventListener('change', () => {
      setLook(value);
      look();
    });
    return make('label', { className: 'tick' }, r, ` ${name}`);
  });
  const sound = make('input', { type: 'checkbox', checked: sounding() });
  sound.addEventListener('change', () => setSound(sound.checked));
  const keys = make('input', { type: 'checkbox', id: 'one-key', checked: keysOn() });
  keys.addEventListener('change', () => localStorage.setItem('keys', keys.checked ? 'on' : 'off'));
  const about = make('p', { className: 'quiet' });
  const table = make('div', { id: 'results', role: 'status' });
  const ask = make('button', { type: 'button', id: 'show-results' }, 'Show results so far');
  ask.addEventListener('click', async () => table.replaceChildren(...resultsTable(await results())));
  const section = make('section', { 'aria-labelledby': 'results-title' }, make('h3', { id: 'results-title' }, 'Results so far'), make('p', {}, blind), ask, table);
  const d = dialog('more', 'More', true,
    make('fieldset', {}, make('legend', {}, 'Look'), ...radios),
    make('p', {}, make('label', { className: 'tick' }, sound, ' Sound at a slip and at overload')),
    make('p', {}, make('label', { className: 'tick' }, keys, ' One key for each action, as the buttons show')),
    section, make('h3', {}, 'Keys everywhere'),
    make('dl', { className: 'keys' }, ...[['C', 'cautions'], ['M', 'this window'], ['F', 'say force and peak (screen reader)'], ['←  →', 'move the mark one reading; with Shift ten'], ['0', 'the tool’s mark'], ['N', 'write a note'], ['Esc', 'out of a field or window']]
      .flatMap(([k, w]) => [make('dt', {}, make('kbd', {}, k)), make('dd', {}, w)])), about);
  d.addEventListener('close', () => table.replaceChildren());
  return (s, role) => {
    section.hidden = role !== 'writer';
    text(about, [s?.practice ? 'Practice: nothing is written to the study.' : '', s?.cell.name || s?.cell.port ? `Load cell: ${[s.cell.name, s.cell.port].filter(Boolean).join(', ')}.` : ''].filter(Boolean).join(' '));
    d.showModal();
  };
}

export const keysOn = () => localStorage.getItem('keys') !== 'off';

function resultsTable(r) {
  if (!r) return [make('p', { className: 'wrong' }, 'The program did not answer. Try again.')];
  if (r.error) return [make('p', { className: 'wrong' }, r.error)];
  const head = ['Facing', 'Slipped', 'Held', 'Void', 'Grip beside the control'];
  const rows = r.facings.map((f) => make('tr', {}, make('th', { scope: 'row' }, f.facing + (f.control ? ' (control)' : '')),
    ...[f.slipped, f.held, f.void].map((n) => make('td', { className: 'n' }, String(n))),
    make('td', {}, f.ratio === null ? f.text : `${digits(f.ratio, 3)} ×${f.lower === null ? '' : ` (${digits(f.lower, 3)} to ${f.upper === null ? 'not known' : digits(f.upper, 3)})`}`)));
  return [make('p', {}, r.text), make('div', { className: 'scroll', tabIndex: 0, role: 'group', 'aria-label': 'Results so far, table' },
    make('table', {}, make('thead', {}, make('tr', {}, ...head.map((h) => make('th', { scope: 'col' }, h)))), make('tbody', {}, ...rows)))];
}
