package trial

// Cautions ship with every plan, session and verdict, in this order.
var Cautions = []string{
	"A pull stores energy: a part or a tie that lets go flies.",
	"Spindle off and locked out; eyes protected; hands and face out of the line of pull.",
	"Load cell, link and tie rated above the pull; a tether on the link.",
	"A trial is evidence about these facings on this vise, not a licence to cut: cutting loads are estimates, and grip falls with oil, chips, wear and heat.",
	"Machine guarding, local safety rules and qualified people come first.",
}

// SetupChecks are what to look at before the first pull, because a trial lies
// when something else carries the load.
var SetupChecks = []string{
	"stop drawn back from the part",
	"part clear of parallels and of the vise body",
	"tie square to the pull and at the stated arm",
	"nothing oily, unless that is the question",
	"weight hanging free, handle brought up from below",
	"scale zeroed",
}
