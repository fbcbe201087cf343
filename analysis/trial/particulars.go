package trial

// Particulars are what a test report names besides the trial itself. Each is
// text; "" is not given, and the report shows it as empty.
type Particulars struct {
	Number       string // by which the report is called
	Laboratory   string // who tested
	Address      string
	Location     string // where it was tested
	Customer     string
	Contact      string // of the customer
	Items        string // parts and facings: marks and condition
	Received     string // date of receipt of the items, as 2026-03-14
	Issued       string // date of the report, likewise
	Method       string // name and edition of the method
	Conditions   string // temperature, humidity, oil
	Sampling     string // how parts and facings were chosen
	DecisionRule string // how the intervals' doubt counts against a requirement
	Provided     string // information that the customer gave
	External     string // results that others provided
	Opinion      string // opinions and interpretations
	AuthorisedBy string // who answers for the report
}
