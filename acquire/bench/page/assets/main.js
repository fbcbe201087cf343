// The page of a session at the vise: it joins the program's line, shows what it
// tells, and hands on what a person wants.

import { allowed, render, sending } from './actions.js';
import { cautions, closeAll, keysOn, more, open, reason, setLook } from './dialogs.js';
import { by, show, text, typing } from './dom.js';
import { Gauge, plan } from './gauge.js';
import { Judge } from './judge.js';
import { Link, page } from './link.js';
import * as screens from './screens.js';
import * as sound from './sound.js';
import { Picture, roundStep } from './trace.js';
import { announce, force, load, lostLine } from './words.js';

setLook(localStorage.getItem('look') ?? '');

const app = {
  page, role: 'watcher', state: null, live: null,
  line: null, lineWords: '', lostAt: 0, replaced: false, ended: '',
  overload: '', graveAt: new Map(), said: '', seen: 0,
  typed: null, // the reading that was sent and not yet taken
  pull: -1, // the record that the live trace shows
  act, ticking: (n) => link.waits((c) => c.do === 'tick' && c.n === n),
};

const gauge = new Gauge(by('gauge-rule'));
const live = new Picture(by('live'));
const judge = new Judge({
  send: (command) => link.send({ step: app.state.step, ...command }),
  record: (from, to) => link.record(from, to),
  may: () => app.role === 'writer' && page === 'vise',
  unsent: () => link.waits((c) => c.do === 'mark'),
});

const windows = {
  cautions: cautions(),
  more: more({ look: looked, results: async () => (await link.once('/results', { step: app.state.step }))?.body ?? null }),
  void: reason('void', 'Void: why does it say nothing?', 'The pull is kept with its trace, and asked for again.',
    ['the tie let go', 'something else carried the load', 'pulled askew', 'not tightened as planned', 'somebody touched it'], true, 'Void'),
  undo: reason('undo', 'Undo the last pull', '', [], false, 'Undo it'),
  skip: reason('skip', 'Leave this pull out', 'It is left out of the plan for good, and the reason is kept.', [], true, 'Leave it out'),
  quit: reason('quit', 'End the session?', 'What was saved is safe; the next session goes on at the next pull.', [], false, 'End it'),
};

const link = new Link({
  hello(h) {
    app.ended = '';
    become(h.role);
  },
  role(r) {
    app.replaced = r.why === 'replaced';
    become(r.role);
    if (r.why && !app.replaced) say(r.why);
  },
  state: take,
  live: follow,
  over(o) {
    app.ended = o.why;
    if (app.state) take(app.state);
  },
  line(ok, words) {
    if (app.line !== false && !ok) app.lostAt = performance.now();
    if (app.line === false && ok) say('The program is there again.');
    if (app.line !== false && !ok && !app.ended) cry(lostLine(words, 0));
    app.line = ok;
    app.lineWords = words;
    refresh();
  },
  answer(command, answer, ok) {
    sending(null);
    app.said = ok || command.do === 'typed' ? '' : answer.error;
    if (!ok) cry(answer.error);
    if (command.do === 'typed') readingTaken(ok, answer.error);
    else if (ok && answer.text) say(answer.text);
    if (ok && answer.role) become(answer.role);
    refresh();
  },
  waiting(command, ms) { if (ms > 1500) sending('The program has not answered yet; this is sent again.'); },
});

function become(role) {
  if (app.role === role) return;
  app.role = role;
  if (app.state) announceRole();
  refresh();
}

function announceRole() {
  if (page === 'vise') say(app.role === 'writer' ? 'You have the vise.' : 'Another screen has the vise; this one watches.');
}

/** What the page shows by itself while it lasts is no news afterwards. */
const passing = (words) => words.toLowerCase() === 'slipped? let go gently';

/** Takes a state. */
function take(s) {
  const before = app.state;
  if (s.over || app.ended) s = { ...s, phase: 'over' };
  app.state = s;
  s.notices = s.notices.filter((n) => !passing(n.text));
  const news = s.notices.filter((n) => n.id > app.seen);
  for (const n of news) {
    app.graveAt.set(n.id, s.step);
    if (n.grave) cry(n.text);
  }
  if (s.notices.length) app.seen = s.notices.at(-1).id;
  if (!before || before.phase !== s.phase || before.next?.order !== s.next?.order) entered(s, before, news);
  else if (news.length) say(news.filter((n) => !n.grave).map((n) => n.text).join('. '));
  if (before?.step < s.step && link.waits((c) => c.do === 'typed' && c.step < s.step)) readingTaken(true, '');
  if (s.phase === 'judging') judge.show(s); else judge.hide();
  refresh();
}

/** A phase was entered. */
function entered(s, before, news) {
  closeAll();
  if (before) app.said = '';
  app.overload = '';
  screens.numberWidth(s);
  gauge.scale(s.capacity);
  say([...news.filter((n) => !n.grave).map((n) => n.text), before?.phase === 'judging' ? s.last?.text : '', announce(s)].filter(Boolean).join('. '));
  if (s.phase === 'judging') by('note').value = sessionStorage.getItem(noteKey(s)) ?? '';
  screens.screen(s, app);
  if (s.phase === 'typing' && app.role === 'writer') by('reading').focus();
  else if (before && !open() && !typing(document.activeElement)) by('heading').focus({ preventScroll: true });
  if (before && window.scrollY > 0) window.scrollTo(0, 0);
}

const noteKey = (s) => `note-${s.next?.order}-${s.proposal?.samples}`;

/** Takes the force and what is new of the trace. */
function follow(l) {
  const before = app.live;
  app.live = l;
  if (app.pull !== l.pull) {
    app.pull = l.pull;
    live.top = 0; // another record finds its own scale
  }
  live.record.put(l.from, l.trace);
  const s = app.state;
  if (!s) return;
  if (l.motion === 'slipping' && before?.motion !== 'slipping') {
    sound.slip();
    cry('Slipped? Let go gently');
  }
  const words = load(s, l.load);
  if (words !== app.overload) {
    app.overload = words;
    document.body.dataset.load = l.load;
    if (words) {
      cry(words);
      if (l.load === 'over') sound.overload();
    }
    screens.alarms(s, app, lostFor());
  }
  frame();
}

let framed = false;
let numbered = 0; // when the number was last written
const numberEvery = 90; // ms; the eye reads no more, and half of the frames then change the trace alone

/** Draws what moves, once for each picture that the screen shows. */
function frame() {
  if (framed) return;
  framed = true;
  requestAnimationFrame(() => {
    framed = false;
    const s = app.state;
    if (!s || by('force').hidden) return;
    const now = performance.now();
    if (s.phase !== 'pulling' || now - numbered >= numberEvery) {
      numbered = now;
      screens.title(s, app.live);
      screens.numbers(s, app.live);
      gauge.show(app.live?.force, app.live?.peak);
    }
    show(by('live-plot'), s.phase === 'pulling');
    if (s.phase === 'pulling') drawLive(s);
  });
}

/** The live trace keeps its scale and doubles it when it is full, so that nothing crawls. */
function drawLive(s) {
  const end = live.record.t.at(-1) ?? 0;
  live.unit = s.unit;
  live.from = -0.5;
  live.to = 10;
  while (live.to < end) live.to *= 2;
  const top = Math.max(app.live?.peak ?? 0, (s.capacity ?? 0) * 0.05, 1e-9) * 1.1;
  const step = roundStep(top, 4);
  live.top = Math.max(live.top, Math.ceil(top / step) * step);
  live.limits = s.capacity === null ? [] : [{ f: s.capacity, words: 'rated' }, { f: 0.8 * s.capacity, words: '80 %' }];
  live.grow();
  const words = `Force over ${Math.max(0, end).toFixed(0)} s, peak ${force(s, app.live?.peak ?? 0, 3)}`;
  if (by('live').ariaLabel !== words) by('live').ariaLabel = words;
}

/** Shows the state anew. */
function refresh() {
  const s = app.state;
  screens.alarms(s, app, lostFor());
  if (!s) return;
  screens.screen(s, app);
  render(allowed(s, app.role, page), act);
  show(by('field-note'), app.role === 'writer');
  by('reading').disabled = app.role !== 'writer';
  if (s.phase === 'judging' && judge.state) {
    judge.write();
    judge.draw();
  }
  frame();
}

const lostFor = () => (app.line === false ? Math.round((performance.now() - app.lostAt) / 1000) : 0);
setInterval(() => { if (app.line === false) screens.alarms(app.state, app, lostFor()); }, 1000);

const note = () => by('note').value.trim();

/** Does what a button or key asks for. */
function act(a) {
  const s = app.state;
  if (!s) return;
  sound.wake();
  if (a.wait) {
    say(a.wait);
    app.said = `Not yet: ${a.wait}.`;
    refresh();
    return;
  }
  switch (a.does) {
    case 'tick': return send({ do: 'tick', n: a.n, on: a.on });
    case 'slipped':
    case 'held': {
      const proposed = !judge.moved() && !s.proposal.ask && s.proposal.outcome === a.does;
      return send({ do: proposed ? 'accept' : a.does, text: note() });
    }
    case 'ask-void': return windows.void((why) => send({ do: 'void', text: [why, s.phase === 'judging' ? note() : ''].filter(Boolean).join('; ') }));
    case 'undo': return windows.undo((why) => send({ do: 'undo', text: why }), `${s.last?.text ?? 'The pull saved last'}. It stays in the ledger with the correction, and is pulled again.`);
    case 'skip': return windows.skip((why) => send({ do: 'skip', text: why }));
    case 'quit': return s.phase === 'done' ? send({ do: 'quit' }) : windows.quit(() => send({ do: 'quit' }),
      s.phase === 'judging' ? 'This pull is then saved as void, with its trace. The next session asks for it again.' : undefined);
    case 'weighed': return send({ do: 'weighed', text: by('weight').value });
    case 'reading': return reading('');
    case 'reading+': return reading('+');
    default: return send({ do: a.does });
  }
}

function send(command) {
  if (link.send({ step: app.state.step, ...command })) {
    app.said = '';
    sending(null);
    return;
  }
  if (command.do !== 'tick') sending('One moment: the last one has not been answered yet.');
}

/** Sends what was typed. */
function reading(sign) {
  const t = by('reading').value.trim();
  if (!t) {
    readingTaken(false, 'Type what the scale read.');
    return;
  }
  app.typed = t;
  send({ do: 'typed', text: sign && !t.includes(sign) ? t + sign : t });
}

/** A reading was taken or refused. What was typed since for the next one stays. */
function readingTaken(ok, why) {
  if (ok) {
    if (by('reading').value.trim() === app.typed) by('reading').value = '';
    app.typed = null;
  }
  text(by('typed-error'), ok ? '' : why);
  by('reading').toggleAttribute('aria-invalid', !ok);
  by('reading').focus();
}

/** Words for the ear: calm ones wait for their turn, the others do not. */
function say(words) { if (words) text(by('say'), words); }
function cry(words) { if (words) text(by('cry'), words); }

function looked() {
  live.colours();
  judge.look();
  frame();
}

function keys(e) {
  if (e.ctrlKey || e.altKey || e.metaKey || open()) return;
  if (typing(e.target)) {
    if (e.key === 'Escape' || (e.key === 'Enter' && e.target.id === 'note')) {
      by('heading').focus({ preventScroll: true });
      e.preventDefault();
    }
    return;
  }
  if (e.repeat && !e.key.startsWith('Arrow')) return;
  if (!keysOn() || !app.state) return;
  if (e.key === 'Enter' && e.target.closest?.('button, a, summary, label, input')) return; // that has a use for it
  if (app.state.phase === 'judging' && (e.key.startsWith('Arrow') || e.key === '0') && (e.key !== 'ArrowUp' && e.key !== 'ArrowDown') && judge.press(e)) return;
  const key = e.key.length === 1 ? e.key.toLowerCase() : e.key;
  const everywhere = { c: () => windows.cautions(app.state), m: () => windows.more(app.state, app.role), f: () => say(screens.spoken(app.state, app.live)) };
  const list = allowed(app.state, app.role, page);
  const a = key === 'Enter' ? list.first.find((b) => b.proposed) ?? list.first.find((b) => b.key === 'Enter') : [...list.first, ...list.more].find((b) => b.key === key);
  if (a) act(a);
  else if (app.state.phase === 'judging' && key === 'n' && app.role === 'writer') by('note').focus();
  else if (app.state.phase === 'checks' && app.role === 'writer' && by(`check-${Number(key) - 1}`)) by(`check-${Number(key) - 1}`).click();
  else if (everywhere[key]) everywhere[key]();
  else if (key === 'Enter' && app.state.phase === 'judging') say('The record alone cannot tell. Say slipped, held or void.');
  else return;
  e.preventDefault();
}

document.addEventListener('keydown', keys);
document.addEventListener('pointerdown', () => sound.wake());
by('open-cautions').addEventListener('click', () => windows.cautions(app.state));
by('open-more').addEventListener('click', () => windows.more(app.state, app.role));
by('note').addEventListener('input', () => sessionStorage.setItem(noteKey(app.state), by('note').value));
by('typed-form').addEventListener('submit', (e) => {
  e.preventDefault();
  reading('');
});
by('weight-form').addEventListener('submit', (e) => {
  e.preventDefault();
  act({ does: 'weighed' });
});
matchMedia('(prefers-color-scheme: dark)').addEventListener('change', looked);
new ResizeObserver(() => frame()).observe(by('live-plot'));
new ResizeObserver(() => { if (app.state) plan(app.state); }).observe(by('rule'));
link.open();
