// Package page serves the screen of a session at the vise to a browser.
//
// The server is plain net/http. It knows bench only as an Operator does: it is
// shown the session and hands on what a person wants. The session never waits
// for a browser, and goes on when none is there.
//
// # Routes
//
//	GET  /          live view for others in the shop, read-only
//	GET  /vise      the operator's page
//	GET  /assets/…  style sheets and modules, embedded
//	GET  /events    server-sent events (?page=live or ?page=vise&client=ID)
//	GET  /state     the same state as the event, once
//	GET  /trace     the record of the pull that is being judged (?from=S&to=S)
//	POST /command   what the person wants
//	POST /results   the facings' results so far, to the writer, when asked for
//
// The types in protocol.go are the contract between server and page; it only
// grows. One example of each message stands in testdata/*.json, which the tests
// hold against the types. Forces in every message are in the study's display
// unit (state.unit), above the tare; times within a pull are seconds since the
// record began; times of day are RFC 3339. A number that does not apply is null.
//
// # Events
//
//	event: hello   {"client":"7f3a…","role":"writer","page":"vise","run":"5b…"}
//	event: role    {"role":"watcher","writer":true,"why":"another screen took over"}
//	event: state   State, whole, after every change other than the force
//	event: live    Live, at most 20 a second
//	event: beat    {"now":"2026-11-25T10:31:07Z"}, when nothing else was sent for 2 s
//	event: over    {"why":"…"}: the program ends; look for it again after 5 s at the earliest
//
// A stream begins with hello, state and live with the whole trace so far, so a
// page that was reloaded in mid-pull has all of it. A slow browser gets fewer
// and larger live events and loses nothing: live.from is the place of the first
// bucket within the pull's trace, and what the page holds from that place on is
// replaced (the last bucket may still have grown). Another live.pull than before
// begins anew. A page that hears nothing for 6 s may take the line for dead.
//
// A page keeps the client of hello in sessionStorage and gives it when it
// connects again, and so keeps its role. Where two streams come with one client
// (a duplicated tab), the older one gets {"role":"watcher","why":"replaced"} in
// a role event and is closed; it must not connect again with that client.
//
// A browser opens no more than six connections to one server, so a page that is
// hidden (visibilityState) and watches should close its stream.
//
// # Commands
//
// A command is POSTed as application/json with the client and the step of the
// state that the person saw. The step grows with every phase and every command
// that is done once, so a repeated or late command is refused with 409 and
// nothing is done twice. tick and mark may be repeated and leave the step as it is.
//
//	checks    tick (n, on), begin
//	mounting  tare, weigh, undo (text), skip (text), quit
//	settling  tare, undo, skip, quit
//	ready     tare, undo, skip, quit
//	weighing  weighed (text, as "2 kg"), back
//	pulling   end
//	judging   mark (t | by | reset), accept, slipped, held, void (text),
//	          typed (text, as "35+ ; crept"), quit (the pull is saved as void)
//	typing    typed (text), void (text), undo, skip, quit
//	done      undo, quit
//	any       take (become the writer), leave (give that up), look (POST /results)
//
// After begin the session may stand at judging: a program that was stopped left
// a pull recorded and not judged. accept, slipped and held take a note in text;
// accept and slipped after the mark was moved mean slipped at that mark. The answer is 200 with Answer,
// or an error with Refusal: 400 malformed, 403 not the writer or a foreign
// origin, 409 stale or not now, 413 too large, 415 not JSON, 422 cannot be
// done (text says why), 429 too many, 503 not answered in time.
package page
