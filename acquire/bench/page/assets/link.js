// The line to the program: what it tells, and what the person wants of it.
//
// The program tells its state by server-sent events. A command carries the step
// that the person saw: the same command sent twice is refused the second time,
// so a command is sent until something answers.

const silentAfter = 6000; // ms without a word before the line counts as lost
const tryAgain = 1000; // ms
const answerWithin = 5000; // ms
const restartAfter = 5000; // ms after the program's last word until it is looked for again

/** Which page this is: the operator's or the others'. */
export const page = location.pathname === '/vise' ? 'vise' : 'live';

/** Whether a command may be repeated and leaves the step as it is. */
const light = (command) => command.do === 'tick' || command.do === 'mark';

export class Link {
  /** `on` has hello, role, state, live, over, line(ok, words), answer(command, answer, ok) and waiting(command, ms). */
  constructor(on) {
    this.on = on;
    this.pending = null; // the command that waits for its answer
    this.queue = []; // what goes after it
    this.ended = false; // do not connect again
    this.up = null;
    this.heard = 0;
    this.run = null;
    setInterval(() => this.look(), 1000);
    document.addEventListener('visibilitychange', () => this.seen());
  }

  get client() { return sessionStorage.getItem(`client-${page}`) ?? ''; }

  set client(name) { sessionStorage.setItem(`client-${page}`, name); }

  open() {
    this.source?.close();
    this.ended = false;
    const source = new EventSource(`/events?page=${page}&client=${encodeURIComponent(this.client)}`);
    this.source = source;
    this.heard = performance.now();
    const hear = (name, take) => source.addEventListener(name, (event) => {
      if (source !== this.source) return;
      this.heard = performance.now();
      if (this.up !== true) this.line(true, '');
      take(JSON.parse(event.data));
    });
    hear('hello', (h) => this.hello(h));
    hear('role', (r) => this.role(r));
    hear('state', (s) => this.on.state(s));
    hear('live', (l) => this.on.live(l));
    hear('beat', () => {});
    hear('over', (o) => {
      this.stop();
      this.on.over(o);
      setTimeout(() => { if (this.ended) this.open(); }, restartAfter);
    });
    source.onerror = () => {
      if (source !== this.source) return;
      this.line(false, '');
      if (source.readyState === EventSource.CLOSED) this.askWhy();
    };
  }

  /** Ends the line for good. */
  stop() {
    this.ended = true;
    this.source?.close();
    this.source = null;
    this.drop();
  }

  hello(h) {
    this.client = h.client;
    if (this.run !== null && this.run !== h.run && this.pending) {
      const lost = this.pending;
      this.drop();
      this.on.answer(lost, { error: 'The program was started anew before it took that. Look where it stands now.' }, false);
    }
    this.run = h.run;
    this.on.hello(h);
  }

  role(r) {
    if (r.why === 'replaced') this.stop();
    if (r.role === 'writer' && this.pending?.do === 'take') this.next(); // this is its answer
    this.on.role(r);
  }

  line(ok, words) {
    this.up = ok;
    this.on.line(ok, words);
  }

  /** Opens anew where nothing was heard for too long, as after a sleep. */
  look() {
    if (this.ended || !this.source || performance.now() - this.heard < silentAfter) return;
    this.line(false, '');
    this.open();
  }

  /** A watcher that nobody looks at gives its line back; when looked at again, any page listens at once. */
  seen() {
    if (this.ended) return;
    if (document.visibilityState === 'hidden') {
      if (page === 'live') {
        this.source?.close();
        this.source = null;
      }
    } else if (!this.source || performance.now() - this.heard > silentAfter / 2) this.open();
  }

  /** Asks why the events were refused, and tries again. */
  async askWhy() {
    this.source?.close();
    this.source = null;
    let words = '';
    try {
      const answer = await fetch('/state', { cache: 'no-store', signal: AbortSignal.timeout(answerWithin) });
      if (!answer.ok) words = await refusal(answer);
    } catch { /* the program is not there */ }
    this.line(false, words);
    setTimeout(() => { if (!this.source && !this.ended) this.open(); }, tryAgain);
  }

  /**
   * Sends a command until it is answered. Ticks and marks may be followed by
   * more, which wait for their turn, the latest of each check and of the mark;
   * where anything else waits for its answer this returns false. A state of a
   * later step is an answer too: the news may come before the reply does.
   */
  send(command) {
    if (this.ended) return false;
    if (this.pending && command.step > this.pending.step) this.drop();
    if (!this.pending) {
      this.pending = command;
      this.post(command);
      return true;
    }
    if (![this.pending, ...this.queue].every(light)) return false;
    const same = (c) => c.do === command.do && c.n === command.n;
    this.queue = [...this.queue.filter((c) => !light(command) || !same(c)), command];
    return true;
  }

  /** Whether a command like this one has not been answered yet. */
  waits(test) { return [this.pending, ...this.queue].some((c) => c !== null && test(c)); }

  /** The next in turn. */
  next() {
    this.pending = null;
    const command = this.queue.shift();
    if (command) this.send(command);
  }

  drop() {
    this.pending = null;
    this.queue = [];
  }

  async post(command) {
    const since = performance.now();
    for (let tries = 1; this.pending === command; tries++) {
      // Where the line is down the program may have been started anew: its hello tells.
      const answer = this.up === false ? null : await this.once('/command', command);
      if (this.pending !== command) return;
      if (answer) {
        this.next();
        // The first try may have been taken and its answer lost: then the state shows it.
        const taken = answer.status === 409 && tries > 1;
        this.on.answer(command, taken ? { text: '' } : answer.body, answer.ok || taken);
        return;
      }
      this.on.waiting(command, performance.now() - since);
      await new Promise((done) => { setTimeout(done, tryAgain); });
    }
  }

  /** Posts once; null where nothing answered, or not yet. */
  async once(path, command) {
    try {
      const answer = await fetch(path, {
        method: 'POST', cache: 'no-store', headers: { 'Content-Type': 'application/json' },
        body: JSON.stringify({ client: this.client, ...command }), signal: AbortSignal.timeout(answerWithin),
      });
      if (answer.status === 429 || answer.status >= 500) return null;
      const body = answer.ok ? await answer.json() : { error: await refusal(answer) };
      return { ok: answer.ok, status: answer.status, body };
    } catch {
      return null;
    }
  }

  /** The record of the pull that is judged, between two times; null where it cannot be had. */
  async record(from, to) {
    try {
      const range = from === undefined ? '' : `?from=${from}&to=${to}`;
      const answer = await fetch(`/trace${range}`, { cache: 'no-store', signal: AbortSignal.timeout(answerWithin) });
      return answer.ok ? await answer.json() : null;
    } catch {
      return null;
    }
  }
}

/** The reason of a refusal in words. */
async function refusal(answer) {
  try {
    const body = await answer.text();
    return answer.headers.get('Content-Type')?.includes('json') ? JSON.parse(body).error : body.trim();
  } catch {
    return `The program answered with status ${answer.status}.`;
  }
}
