// What the page says. Every sentence that depends on the state is made here.

/** A number with so many significant digits, never with an exponent. */
export function digits(v, n = 4) {
  if (!Number.isFinite(v)) return '–';
  if (v === 0) return '0';
  const places = Math.max(0, n - 1 - Math.floor(Math.log10(Math.abs(v)) + 1e-12));
  return v.toFixed(Math.min(places, 9));
}

/** A force as it is worth showing. */
export const force = (s, v, n = 4) => `${digits(v, n)} ${s.unit}`;

const count = (n, one, many) => (n === 1 ? `1 ${one}` : `${n} ${many}`);

/** Where the plan stands. */
export function place(s) {
  const { done, planned } = s.progress;
  if (planned === 0) return 'No plan yet';
  if (s.phase === 'over' || s.phase === 'done' || done >= planned) return `${done} of ${count(planned, 'pull', 'pulls')} done`;
  return `Pull ${done + 1} of ${planned}`;
}

/** How long the rest takes. */
export function left(s) {
  const m = s.progress.minutes_left;
  if (m === null || m === undefined || s.phase === 'over' || s.phase === 'done') return '';
  if (m < 1) return 'under 1 min left';
  if (m < 90) return `about ${Math.round(m)} min left`;
  return `about ${digits(m / 60, 2)} h left`;
}

/** The headline of a phase. */
export function heading(s, live) {
  switch (s.phase) {
    case 'checks': return 'Before the first pull';
    case 'mounting': return s.next?.again ? 'Mount it again' : 'Mount this';
    case 'settling': return 'Hands off the link: finding zero';
    case 'ready': return 'Ready: pull when you like';
    case 'weighing': return 'Check weight';
    case 'pulling': return live?.motion === 'slipping' ? 'Slipped? Let go gently' : 'Pulling';
    case 'judging': return question(s);
    case 'typing': return s.next?.again ? 'Pull it again' : 'Pull this';
    case 'done': return 'Every planned pull is done';
    case 'over': return 'The session has ended';
    default: return 'One moment';
  }
}

/** What is asked of the person about a record. */
export function question(s) {
  const p = s.proposal;
  switch (p?.outcome) {
    case 'slipped': return `Slipped at ${force(s, p.force)}?`;
    case 'held': return `Held, at least ${force(s, p.peak)}?`;
    default: return 'Unclear: you decide';
  }
}

/** What to mount, in pairs of a name and a value; `changed` marks what is not as it was, `minor` what a small screen leaves out later. */
export function mount(n) {
  const changed = new Set(n.order > 1 ? n.changes : []); // at the first pull all is new
  const facts = [];
  if (n.sample) facts.push({ name: 'Sample', value: n.sample, changed: changed.has('sample') });
  if (n.weight_kg !== null) facts.push({ name: 'On the handle', value: `${digits(n.weight_kg, 3).replace(/\.?0+$/, '')} kg`, changed: changed.has('weight') });
  else if (n.level) facts.push({ name: 'Clamp', value: n.level, changed: changed.has('weight') });
  facts.push({ name: 'Clamped before', value: n.clampings === 0 ? 'never' : n.clampings === 1 ? 'once' : `${n.clampings} times`, minor: true });
  if (n.block) facts.push({ name: 'Block', value: n.block, changed: n.new_block && n.order > 1, minor: true });
  return facts;
}

/** What there is to do before the zero is taken. */
export function steps(s) {
  const n = s.next;
  const list = [];
  if (n) {
    if (n.changes.includes('facing')) list.push(`Put ${n.facing} on the jaws${n.sample ? `, sample ${n.sample}` : ''}.`);
    else if (n.changes.includes('sample')) list.push(`Change to sample ${n.sample}.`);
    list.push(n.weight_kg !== null ? `Set the part, bring the handle up from below, hang ${mount(n).find((f) => f.name === 'On the handle').value} on it.` : 'Set the part and tighten as planned.');
  }
  list.push('Hook the link on and let it hang free: no hand on it.');
  if (s.reminder) list.push(`${s.reminder} (Check weight, W)`);
  return list;
}

/** The range beside a proposed slip force. */
export function range(s) {
  const p = s.proposal;
  if (p?.outcome !== 'slipped' || p.low === null || p.high === null || !(p.low < p.high)) return '';
  return `${digits(p.low)} to ${force(s, p.high)} with 95 % confidence`;
}

/** Where the mark stands. */
export function mark(s, m) {
  const p = s.proposal;
  if (m) return `Your mark: ${force(s, m.force)} at ${m.t.toFixed(3)} s. The tool’s: ${p.tool ? `${force(s, p.tool.force)} at ${p.tool.t.toFixed(3)} s` : 'none'}. Both are kept.`;
  if (p.tool) return `The tool’s mark: ${force(s, p.tool.force)} at ${p.tool.t.toFixed(3)} s.${range(s) ? ` Range ${range(s)}.` : ''}`;
  return `The tool found no slip point. Greatest force ${force(s, p.peak)}. Move the mark if you saw it slip.`;
}

/** What the cell is doing, where it is not as it should be. */
export function cell(s) {
  switch (s.cell.state) {
    case 'waiting': return s.cell.text || 'Nothing has come from the load cell yet.';
    case 'silent': return s.cell.text || 'The load cell is silent. Look at the cable.';
    case 'lost': return s.cell.text || 'The load cell is gone. Put the cable back.';
    default: return '';
  }
}

/** How a load stands to the rated one. */
export function load(s, degree) {
  if (s.capacity === null) return '';
  if (degree === 'over') return `STOP. Over the rated ${force(s, s.capacity, 3)}: let down`;
  if (degree === 'high') return `80 % of the rated ${force(s, s.capacity, 3)}: no more than a little`;
  return '';
}

/** The lost line to the program. */
export function lostLine(words, seconds) {
  if (words) return `The program does not let this page in: ${words}`;
  return `No word from the program${seconds > 2 ? ` for ${seconds} s` : ''}. What was saved is safe, and a pull under way is on its disk. `
    + 'This page tries again by itself. If the program has stopped, start it again; it goes on at the next pull.';
}

/** What the session did. */
export function counts(s) {
  const p = s.progress;
  return `This session: ${p.slipped} slipped, ${p.held} held, ${p.void} void. ${count(p.planned - p.done, 'planned pull', 'planned pulls')} left.`;
}

export const blind = 'Facings’ results stay hidden while you pull: who knows which one leads may pull it otherwise without wishing to. '
  + 'That you looked is kept with the study.';

/** What a screen reader hears when the screen changes. */
export function announce(s) {
  const h = heading(s);
  switch (s.phase) {
    case 'checks': return `${h}. ${s.checks.filter((c) => !c.done).length} checks to tick.`;
    case 'mounting':
    case 'typing': return `${place(s)}. ${h}: ${s.next?.text ?? ''}`;
    case 'judging': return `${h} ${s.proposal?.why[0] ?? ''}`;
    case 'over': return `${h}. ${s.over?.text ?? ''}`;
    default: return h;
  }
}
