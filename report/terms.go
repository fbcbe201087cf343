package report

// Term is a word of the method, what it means here, and the standard that
// defines its like; "" where none does.
type Term struct {
	Word, Means, Standard string
}

// Terms lists the words that a reader of the document needs. The standards are
// named from memory; they define the statistics, not this trial.
var Terms = []Term{
	{"facing", "what faces the jaws: bare steel, cloth, a sheet, a serration", ""},
	{"sample", "one specimen of a facing; pulls on one sample are not new samples", "experimental unit, ISO 3534-3"},
	{"clamping", "one tightening of the vise on a sample", ""},
	{"slip point", "the greatest force carried before gross motion: the first peak that it follows, or the knee of a creep", "static friction, as in pull tests"},
	{"held", "the part did not move: a lower bound of its slip force", "right-censored observation"},
	{"void", "the pull says nothing about the grip; it is counted and left out", ""},
	{"grip factor", "share of friction coefficient times clamp force that a pull off the centre reaches; 1 for a straight pull", ""},
	{"scatter", "coefficient of variation of single pulls on one facing, from the spread of log values", "repeatability, ISO 5725-2"},
	{"interval", "two-sided, of the geometric mean or of a ratio of geometric means", "confidence interval, ISO 3534-1"},
	{"tolerance bound", "grip that at least a stated share of clampings exceed, with a stated confidence", "one-sided statistical tolerance interval, ISO 16269-6"},
	{"standard uncertainty", "doubt in a result as one standard deviation, combined by source", "JCGM 100 (GUM)"},
}
