// What a person can do in each phase: one key and one button for each.

import { by, make, show, text } from './dom.js';
import { force } from './words.js';

const undo = { key: 'u', name: 'Undo the last pull', does: 'undo' };
const skip = { key: 'l', name: 'Leave this pull out', does: 'skip' };
const quit = { key: 'q', name: 'End the session', does: 'quit' };

/**
 * The actions that the state allows: `first` are the big ones, `more` the rest.
 * An action has a key, a name, what it does, and perhaps `small` words under the
 * name, `proposed`, and `wait`, why it cannot be done yet.
 */
export function allowed(s, role, page) {
  if (page === 'live') return { first: [], more: [] };
  if (role !== 'writer') {
    return { first: [{ key: 't', name: 'Take over the vise', small: 'the other screen then only watches', does: 'take', plain: true }], more: [] };
  }
  const back = s.last && !s.last.undone ? [undo] : [];
  switch (s.phase) {
    case 'checks': {
      const open = s.checks.filter((c) => !c.done).length;
      return { first: [{ key: 'Enter', name: 'All looked at: begin', does: 'begin', wait: open ? `${open} not ticked yet` : '' }], more: [quit] };
    }
    case 'mounting':
      return { first: [{ key: 'Enter', name: 'Mounted: find zero', does: 'tare' }], more: [...back, { key: 'w', name: 'Check weight', does: 'weigh' }, skip, quit] };
    case 'settling':
      return { first: [{ key: 'Enter', name: 'Begin again', small: 'if the link was touched', does: 'tare', plain: true }], more: [...back, skip, quit] };
    case 'ready':
      return { first: [{ key: 'Enter', name: 'Find zero again', does: 'tare', plain: true }], more: [...back, skip, quit] };
    case 'weighing':
      return { first: [{ key: 'Enter', name: 'Compare', does: 'weighed' }], more: [{ key: 'b', name: 'Back without comparing', does: 'back' }] };
    case 'pulling':
      return { first: [{ key: 'e', name: 'The pull is over', small: 'if the tool has not noticed', does: 'end', plain: true }], more: [] };
    case 'judging':
      return { first: judgements(s), more: [quit] };
    case 'typing':
      return { first: [{ key: 'Enter', name: 'Slipped', does: 'reading' }, { key: '+', name: 'Held', does: 'reading+' }, { key: 'x', name: 'Void', small: 'says nothing', does: 'ask-void' }],
        more: [...back, skip, quit] };
    case 'done':
      return { first: [{ key: 'Enter', name: 'End the session', does: 'quit' }], more: back };
    default:
      return { first: [], more: [] };
  }
}

/** The three ways to judge; the one that the tool proposes says so and takes Enter as well. */
function judgements(s) {
  const p = s.proposal;
  const mine = p.person !== null;
  const proposed = mine ? 'slipped' : p.ask ? '' : p.outcome;
  const slip = mine ? p.person.force : p.tool ? p.tool.force : p.peak;
  const mark = (outcome) => (outcome !== proposed ? {} : mine ? { proposed: 'your mark' } : { proposed: 'proposed' });
  return [
    { key: 's', name: 'Slipped', small: `at ${force(s, slip)}`, does: 'slipped', ...mark('slipped') },
    { key: 'h', name: 'Held', small: `at least ${force(s, p.peak)}`, does: 'held', ...mark('held') },
    { key: 'x', name: 'Void', small: 'says nothing', does: 'ask-void' },
  ];
}

const shape = { slipped: 'ring', reading: 'ring', held: 'arrow', 'reading+': 'arrow', 'ask-void': 'cross' };

const paths = {
  ring: 'M8 2.5a5.5 5.5 0 1 0 0 11a5.5 5.5 0 0 0 0-11z',
  arrow: 'M8 15V2M3 7l5-5 5 5',
  cross: 'M2.5 2.5l11 11M13.5 2.5l-11 11',
};

/** The mark of an outcome, as in the report: a ring slipped, an arrow held, a cross says nothing. */
export function sign(name) {
  const svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
  svg.setAttribute('viewBox', '0 0 16 16');
  svg.setAttribute('class', 'sign');
  svg.setAttribute('aria-hidden', 'true');
  const path = document.createElementNS('http://www.w3.org/2000/svg', 'path');
  path.setAttribute('d', paths[name]);
  svg.append(path);
  return svg;
}

const keyName = (key) => (key.length === 1 ? key.toUpperCase() : key);

function button(a, act, big) {
  const b = make('button', { type: 'button', className: big ? 'big' : '', 'data-does': a.does });
  const name = make('span', { className: 'name' });
  if (shape[a.does]) name.append(sign(shape[a.does]));
  name.append(a.name);
  b.append(name, make('kbd', { 'aria-hidden': 'true' }, keyName(a.key)));
  const small = [a.small, a.wait].filter(Boolean).join('; ');
  if (small) b.append(make('span', { className: 'small' }, small));
  if (a.proposed) {
    b.classList.add('proposed');
    b.append(make('span', { className: 'flag' }, a.proposed),
      make('kbd', { 'aria-hidden': 'true' }, 'Enter'));
  }
  if (a.plain) b.classList.add('plain');
  if (a.wait) b.setAttribute('aria-disabled', 'true');
  if (a.key.length === 1 || a.key === 'Enter') b.setAttribute('aria-keyshortcuts', keyName(a.key));
  b.addEventListener('click', () => act(a));
  return b;
}

/** Puts the buttons there, and leaves them alone where they are the same. */
export function render(list, act) {
  fill(by('actions'), list.first, act, true);
  fill(by('others'), list.more, act, false);
}

function fill(bar, list, act, big) {
  const key = JSON.stringify(list);
  if (bar.dataset.key === key) return;
  const focused = bar.contains(document.activeElement) ? document.activeElement.dataset.does : null;
  bar.dataset.key = key;
  bar.replaceChildren(...list.map((a) => button(a, act, big)));
  bar.style.setProperty('--n', Math.max(1, list.length));
  show(bar, list.length > 0);
  if (focused) bar.querySelector(`[data-does="${focused}"]`)?.focus();
}

/** Says that a command is on its way. */
export function sending(words) {
  document.body.toggleAttribute('data-sending', words !== null);
  text(by('sending'), words ?? '');
}
