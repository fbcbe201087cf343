package analysis

import (
	"math"
	"strconv"

	"griptrial/analysis/trial"
)

// Number is a result that may not be estimable: NaN inside, null in JSON. An
// infinity is null in JSON too; a warning says why.
type Number float64

// MarshalJSON writes null for a number that JSON cannot carry.
func (n Number) MarshalJSON() ([]byte, error) {
	if !n.Known() {
		return []byte("null"), nil
	}
	format := byte('f')
	if a := math.Abs(float64(n)); a != 0 && (a < 1e-6 || a >= 1e21) { // as encoding/json does
		format = 'e'
	}
	return strconv.AppendFloat(make([]byte, 0, 24), float64(n), format, -1, 64), nil
}

// Known reports whether the number was estimated.
func (n Number) Known() bool { return !math.IsNaN(float64(n)) && !math.IsInf(float64(n), 0) }

// Unknown is the number that could not be estimated.
func Unknown() Number { return Number(math.NaN()) }

// Quantity is what the models are about.
type Quantity string

const (
	// Mu: the clamp force of every pull is known; mu = F/(faces·N·phi).
	Mu Quantity = "mu"
	// PerWeight: only the handle weight is known; force over the weight's own
	// force, a pure number. Ratios between facings are those of mu.
	PerWeight Quantity = "force per handle weight"
	// Force: neither is known; forces are compared as they are, in N.
	Force Quantity = "force"
)

// Options steer Analyse. The zero value is recommended.
type Options struct {
	Control    string  // facing to compare with; "": the first in the data
	Confidence float64 // of intervals; 0: 0.95
	Faces      int     // faces that rub; 0: 2
	GripFactor float64 // phi; 0: 1, a straight pull
	Need       Number  // N of grip that wear must not fall below; 0: not asked
	Usual      Number  // kg on the handle that the shop uses today; 0: the greatest weight tried
	Spreads    Spreads // one scatter for all facings, or each its own; zero: as the pulls say
	Bootstrap  bool    // also give intervals of the ratios by resampling
	Samples    int     // Monte Carlo and bootstrap draws; 0: 10000
	Seed       uint64  // for Monte Carlo, permutation and bootstrap
	Step       func()  // called after each of Steps stages, to show how far it is; nil: nobody looks
}

// Results is everything that was learned, in the form that --json prints and
// that every report draws on.
type Results struct {
	Control        string         `json:"control"`
	Confidence     float64        `json:"confidence"`
	Quantity       Quantity       `json:"quantity"`
	Model          Model          `json:"model"`
	Facings        []FacingResult `json:"facings"`
	AgainstControl []Ratio        `json:"against_control"`
	Pairs          []Pair         `json:"pairs"`
	Bounds         []BoundRatio   `json:"bounds"`
	LessSqueeze    []Squeeze      `json:"less_squeeze"`
	Claims         []ClaimVerdict `json:"claims"`
	Usual          Number         `json:"usual_kg"` // handle weight of today; NaN where weights are not known
	Doubt          *Doubt         `json:"uncertainty"`
	Window         *Window        `json:"window"` // nil unless the study describes a cut and the part
	Variance       Variance       `json:"variance"`
	Checks         Checks         `json:"checks"`
	Warnings       []Warning      `json:"warnings"`
	Pulls          []PullResult   `json:"pulls,omitempty"`
	Lines          []ClampLine    `json:"lines"`
	Blocks         []BlockEffect  `json:"blocks"`
	Budgets        []Budget       `json:"budgets"`
	Residuals      Residuals      `json:"residuals"`
}

// Model names what was fitted and how the fit ended.
type Model struct {
	Method        string `json:"method"`         // "ols", "reml", "censored-ml", "censored-reml", "none"
	Formula       string `json:"formula"`        // as in "log mu ~ facing + block + (1 | sample)"
	Pulls         int    `json:"pulls"`          // rows in the likelihood
	LogLikelihood Number `json:"log_likelihood"` // of the log values; restricted for REML: logLik of R's lmer, -1/2 of the criterion that lme4 prints
	Converged     bool   `json:"converged"`
	// Spread says whether ratios, pairs and tolerance bounds rest on the one
	// scatter of this model or on each facing's own; checks rest on this model.
	Spread Spreads `json:"spread"`
}

// Estimate is a value with its interval at the asked confidence.
type Estimate struct {
	Estimate Number `json:"estimate"`
	Lower    Number `json:"lower"`
	Upper    Number `json:"upper"`
}

// FacingResult is one facing on its own.
type FacingResult struct {
	Facing    string      `json:"facing"`
	Slipped   int         `json:"slipped"`
	Held      int         `json:"held"`
	Void      int         `json:"void"`
	Samples   int         `json:"samples"`  // distinct samples; 0: not recorded
	Mu        *Estimate   `json:"mu"`       // geometric mean; nil unless Quantity is Mu
	Grip      Estimate    `json:"grip"`     // geometric mean in the results' Quantity
	MuTotal   *Estimate   `json:"mu_total"` // mu with the uncertainty of the clamp force; nil where it is measured or unknown
	Clamp     string      `json:"clamp"`    // whence its clamp forces: "measured", "computed" (from handle weights), "mixed", "" (not known)
	LogSD     Number      `json:"log_sd"`
	CV        Number      `json:"cv"`
	Tolerance []Tolerance `json:"tolerance"`
}

// Tolerance is a one-sided bound: at least Coverage of clampings grip better
// than Lower, with the confidence stated.
type Tolerance struct {
	Coverage   float64 `json:"coverage"`
	Confidence float64 `json:"confidence"`
	Lower      Number  `json:"lower"`
}

// Ratio compares a facing with the control.
type Ratio struct {
	Facing   string `json:"facing"`
	Ratio    Number `json:"ratio"`
	Lower    Number `json:"lower"`
	Upper    Number `json:"upper"`
	P        Number `json:"p"`
	Adjusted string `json:"adjusted"` // "dunnett", "none" (one comparison), ...
	Single   Single `json:"single"`

	Bootstrap *Bootstrap `json:"bootstrap,omitempty"` // nil unless asked for
}

// Bootstrap are intervals of a ratio by resampling, without adjustment for
// several facings: a check on Single that supposes no distribution.
type Bootstrap struct {
	Percentile Range  `json:"percentile"`
	BCa        Range  `json:"bca"` // corrected for bias and acceleration
	Draws      int    `json:"draws"`
	Seed       uint64 `json:"seed"`
}

// Range is an interval.
type Range struct {
	Lower Number `json:"lower"`
	Upper Number `json:"upper"`
}

// Single is a comparison without adjustment for the others.
type Single struct {
	Lower Number `json:"lower"`
	Upper Number `json:"upper"`
	P     Number `json:"p"`
	DF    Number `json:"df"`
}

// Pair compares two facings: Ratio is that of B to A.
type Pair struct {
	A        string `json:"a"`
	B        string `json:"b"`
	Ratio    Number `json:"ratio"`
	Lower    Number `json:"lower"`
	Upper    Number `json:"upper"`
	P        Number `json:"p"`
	Adjusted string `json:"adjusted"`
}

// BoundRatio is what held pulls say where no interval is earned: B holds at
// least AtLeast times what A holds, from the pulls counted, without a
// statement of confidence.
type BoundRatio struct {
	A        string `json:"a"`
	B        string `json:"b"`
	AtLeast  Number `json:"at_least"`
	PullsA   int    `json:"pulls_a"`
	PullsB   int    `json:"pulls_b"`
	PullsFor int    `json:"pulls_for_interval"` // slipped pulls of each facing that would earn an interval
}

// Squeeze is the handle weight at which a facing holds what the control holds
// at the usual weight. It needs only ratios, so a hand scale earns it.
type Squeeze struct {
	Facing string   `json:"facing"`
	Usual  Number   `json:"usual_kg"` // NaN where weights are not known
	Weight Estimate `json:"weight_kg"`
	Share  Estimate `json:"share"`  // of the usual squeeze
	Bound  bool     `json:"bound"`  // Share is only an upper bound, from held pulls
	Beyond bool     `json:"beyond"` // outside the levels tried
}

// ClaimVerdict is the answer to one claim.
type ClaimVerdict struct {
	Claim   trial.Claim `json:"-"`
	Text    string      `json:"claim"`
	Verdict string      `json:"verdict"` // "shown", "refuted" or "not decided"
	Reason  string      `json:"reason"`
	Lower   Number      `json:"lower"`
	Upper   Number      `json:"upper"`
}

// Variance splits the scatter; sd of log values.
type Variance struct {
	ResidualSD Number `json:"residual_sd"`
	BlockSD    Number `json:"block_sd"`
	SampleSD   Number `json:"sample_sd"`
	// ReproducibilitySD is that of single pulls in different blocks (and on
	// different samples, where they are told apart): ISO 5725-2's s_R, where
	// ResidualSD is its s_r. NaN where there is one block.
	ReproducibilitySD Number `json:"reproducibility_sd"`
}

// Checks are the assumptions put to the test; nil where one cannot be made.
type Checks struct {
	ANOVA           *FTest     `json:"anova"` // that all facings grip alike, in the fitted model
	WelchANOVA      *FTest     `json:"welch_anova"`
	KruskalWallis   *ChiTest   `json:"kruskal_wallis"`
	BrownForsythe   *FTest     `json:"brown_forsythe"`
	ShapiroWilk     *WTest     `json:"shapiro_wilk"`
	Permutation     *DealTest  `json:"permutation"` // facings dealt anew within blocks
	Proportionality *SlopeTest `json:"proportionality"`
	Drift           *DriftTest `json:"drift"`
	Wear            *WearTest  `json:"wear"`
}

// FTest is an F statistic.
type FTest struct {
	Statistic Number `json:"statistic"`
	DF1       Number `json:"df1"`
	DF2       Number `json:"df2"`
	P         Number `json:"p"`
}

// ChiTest is a chi-squared statistic.
type ChiTest struct {
	Statistic Number `json:"statistic"`
	DF        Number `json:"df"`
	P         Number `json:"p"`
}

// WTest is a statistic with a p-value and no degrees of freedom.
type WTest struct {
	Statistic Number `json:"statistic"`
	P         Number `json:"p"`
}

// DealTest is a permutation test: its p-value, how often the facings were
// dealt anew, and the seed of the deals.
type DealTest struct {
	P     Number `json:"p"`
	Draws int    `json:"draws"`
	Seed  uint64 `json:"seed"`
}

// SlopeTest is the slope of log force on log clamp; P tests slope 1.
type SlopeTest struct {
	Slope Number `json:"slope"`
	Lower Number `json:"lower"`
	Upper Number `json:"upper"`
	P     Number `json:"p"`
}

// DriftTest is the slope of the log value on run order.
type DriftTest struct {
	Slope Number `json:"slope_per_pull"`
	Lower Number `json:"lower"`
	Upper Number `json:"upper"`
	P     Number `json:"p"`
}

// WearTest is the slope of the log value on earlier clampings.
type WearTest struct {
	Slope Number    `json:"slope_per_clamping"`
	Lower Number    `json:"lower"`
	Upper Number    `json:"upper"`
	P     Number    `json:"p"`
	Lasts []Lasting `json:"lasts"` // nil unless a need was stated
	// Facings has the slope of each facing on its own, adjusted for their
	// number (Bonferroni); empty where they cannot be told apart.
	Facings []FacingWear `json:"facings"`
}

// FacingWear is how one facing's grip changes with use. Tenth is at how many
// earlier clampings a tenth of the grip is gone at the estimated wear, and
// TenthAtLeast at the quickest wear inside the interval. NaN: not in sight, or
// not known.
type FacingWear struct {
	Facing       string `json:"facing"`
	Slope        Number `json:"slope_per_clamping"`
	Lower        Number `json:"lower"`
	Upper        Number `json:"upper"`
	P            Number `json:"p"`
	Tenth        Number `json:"tenth_gone"`
	TenthAtLeast Number `json:"tenth_gone_at_least"`
	Most         Number `json:"most"` // clampings tried
}

// Lasting says at how many earlier clampings the grip that 99 of 100 clampings
// exceed, at the usual squeeze, falls below the stated need: with the estimated
// wear, and with the quickest wear inside its interval. NaN: not in sight, or
// not known.
type Lasting struct {
	Facing    string `json:"facing"`
	Clampings Number `json:"clampings"`
	AtLeast   Number `json:"at_least"`
}

// Warning is a typed remark on the results; Text is for people.
type Warning struct {
	Code string `json:"code"`
	Text string `json:"text"`
}

// PullResult is one pull as the figures draw it, in the order of the data.
type PullResult struct {
	Pull    int    `json:"pull"`
	Facing  string `json:"facing"`
	Sample  string `json:"sample"`
	Block   string `json:"block"`
	Level   string `json:"level"`
	Outcome string `json:"outcome"`
	Force   Number `json:"force_N"`
	Clamp   Number `json:"clamp_N"`   // NaN where not known
	Weight  Number `json:"weight_kg"` // NaN where not known
	Value   Number `json:"value"`     // in the results' Quantity; a lower bound when held, NaN when void
	Fitted  Number `json:"fitted"`    // what the model expects; NaN where there is no model
	Note    string `json:"note"`

	Order     Number `json:"order"`     // place in the run order; NaN where not recorded
	Clampings Number `json:"clampings"` // how often the sample had been clamped before; likewise

	Relative Number `json:"relative"`     // Value over the geometric mean of its facing
	Residual Number `json:"residual"`     // log of Value less what the model expects; a lower bound when held
	Score    Number `json:"normal_score"` // where a normal sample would have that residual, in sd; NaN when held
}

// BlockEffect is what one block did to every pull in it: a ratio to the
// geometric mean of all blocks.
type BlockEffect struct {
	Block string   `json:"block"`
	Ratio Estimate `json:"ratio"`
	First Number   `json:"first"` // place in the run order; NaN where not recorded
	Last  Number   `json:"last"`
}

// Budget says where the doubt in one result comes from; uncertainties are
// standard ones, relative to the value.
type Budget struct {
	Facing   string       `json:"facing"`
	Against  string       `json:"against"` // "": the facing's own grip; otherwise its ratio to this facing
	Value    Number       `json:"value"`
	U        Number       `json:"u"` // combined
	DF       Number       `json:"df"`
	K        Number       `json:"k"`
	Expanded Number       `json:"expanded"` // K·U
	Terms    []BudgetTerm `json:"terms"`
	// Apart is what U of a ratio would be if nothing cancelled, and Correlation
	// that of the two facings' grips; NaN for a grip.
	Apart       Number `json:"u_if_apart"`
	Correlation Number `json:"correlation"`
}

// BudgetTerm is one source of doubt.
type BudgetTerm struct {
	Source  string `json:"source"`
	U       Number `json:"u"`       // NaN: no uncertainty of it was stated, so it is not in the sum
	Share   Number `json:"share"`   // of the combined variance
	Cancels bool   `json:"cancels"` // alike on both sides of a ratio
}

// Residuals says how what the model leaves over of the pulls is spread.
type Residuals struct {
	SD   Number      `json:"sd"`   // of log values
	Band []BandPoint `json:"band"` // empty where pulls held or were divided
}

// BandPoint is, at a normal score, the range that holds the value of a normal
// sample there, in sd.
type BandPoint struct {
	Score Number `json:"score"`
	Lower Number `json:"lower"`
	Upper Number `json:"upper"`
}

// ClampLine is the fitted line of one facing: force = Slope × squeeze, where
// squeeze is clamp force in N, or handle weight in kg when only that is known.
type ClampLine struct {
	Facing string `json:"facing"`
	Slope  Number `json:"slope"`
	Lower  Number `json:"lower"`
	Upper  Number `json:"upper"`
	Min    Number `json:"min"` // least squeeze tried
	Max    Number `json:"max"` // greatest squeeze tried
}

// Anything reports whether any facing's grip, any ratio or any bound could be
// had.
func (r Results) Anything() bool {
	for _, f := range r.Facings {
		if f.Grip.Estimate.Known() {
			return true
		}
	}
	return len(r.Bounds) > 0
}
