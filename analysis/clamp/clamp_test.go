package clamp

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/trial"
)

const (
	deg  = math.Pi / 180
	mm   = 1e-3
	inch = 0.0254
	lbf  = 4.4482216152605
)

// screw is a screw with known friction; lengths in mm.
func screw(d, lead, flankDeg, f, fc, dc float64) trial.Screw {
	return trial.Screw{PitchDiameter: d * mm, Lead: lead * mm, HalfFlank: flankDeg * deg,
		ThreadLow: f, ThreadHigh: f, CollarLow: fc, CollarHigh: fc, CollarDiameter: dc * mm}
}

// vise is the invented vise that several tests share.
func vise() (trial.Handle, trial.Screw) {
	return trial.Handle{Arm: 0.150, Mass: 0.2, MassArm: 0.070, Latitude: 51.5 * deg, Altitude: 50, HasPlace: true},
		screw(18, 4, 15, 0.15, 0.12, 24)
}

func TestGravity(t *testing.T) {
	for _, c := range []struct {
		lat, alt, want, tol float64
		from                string
	}{
		{45, 0, 9.8061978, 1e-7, "WGS 84 formula, evaluated elsewhere"},
		{51.5, 50, 9.8118793, 1e-7, "WGS 84 formula, evaluated elsewhere"},
		{0, 0, 9.7803253, 1e-7, "WGS 84 formula, evaluated elsewhere"},
		// GRS 80 closed form; the two ellipsoids differ by less than 2e-6.
		{0, 0, 9.7803267715, 2e-6, "GRS 80"},
		{30, 0, 9.7932487036, 2e-6, "GRS 80"},
		{45, 0, 9.806199203, 2e-6, "GRS 80, printed table (memory)"},
		{60, 0, 9.8191783850, 2e-6, "GRS 80"},
		{90, 0, 9.8321863685, 2e-6, "GRS 80, printed (memory)"},
		{-90, 0, 9.8321863685, 2e-6, "GRS 80, southern hemisphere alike"},
	} {
		g, err := Gravity(c.lat*deg, c.alt)
		require.NoError(t, err)
		assert.InDelta(t, c.want, g, c.tol, "lat %g alt %g: %s", c.lat, c.alt, c.from)
	}
	for _, bad := range [][2]float64{{95, 0}, {-90.1, 0}, {math.NaN(), 0}, {45, 20000}, {45, math.NaN()}, {45, -1000}} {
		_, err := Gravity(bad[0]*deg, bad[1])
		assert.Error(t, err, "%v", bad)
	}
	_, err := Gravity(95*deg, 0)
	assert.ErrorContains(t, err, "latitude 95°")
}

// Printed power-screw examples, torque in N·m.
func TestPrintedScrews(t *testing.T) {
	for _, c := range []struct {
		name                     string
		s                        trial.Screw
		load                     float64
		raise, lower, efficiency float64
		tol                      float64
	}{
		// Shigley, power-screw example 8-1: 26.18 N·m, 9.77 N·m, 0.311
		// (printed answers from memory; digits recomputed).
		{"Shigley", screw(30, 8, 0, 0.08, 0.08, 40), 6400, 26.1769547, 9.7744284, 0.311294, 1e-7},
		// A 25 x 5 screw problem; printed 16.41, 8.39, 0.243.
		{"25 x 5", screw(25, 5, 0, 0.09, 0.06, 45), 5000, 16.4092168, 8.3867485, 0.242478, 1e-7},
		// Bhandari Ex. 6.1, collar on uniform wear, mean diameter 82.5 mm:
		// printed 204644.14 and 87401.51 N·mm.
		{"Bhandari 6.1", screw(46, 24, 0, 0.15, 0.15, 82.5), 15000, 204.64414, 87.40151, math.NaN(), 1e-5},
		// Bhandari Ex. 6.9, a screw clamp: printed 3402.1986 N·mm.
		{"Bhandari 6.9", screw(19.5, 5, 0, 0.15, 0.15, 30), 750, 3.4021986, math.NaN(), math.NaN(), 1e-7},
		// Bhandari Ex. 6.5: rim force 388.909 N on 250 mm, efficiency 16.3694 %.
		{"Bhandari 6.5", screw(75, 10, 0, 0.12, 0.12, 60), 10000, 388.909 * 0.250, math.NaN(), 0.163694, 2e-4},
		// Khurmi and Gupta Ex. 17.1 (memory, recomputed; the book rounds tan).
		{"Khurmi 17.1", screw(37, 6, 0, 0.10, 0, 0), 75000, 211.461, math.NaN(), math.NaN(), 1e-3},
		// Khurmi and Gupta Ex. 17.4 (memory, recomputed).
		{"Khurmi 17.4", screw(50, 12.5, 0, 0.15, 0.18, 60), 10000, 112.088, math.NaN(), math.NaN(), 1e-3},
	} {
		f, fc := c.s.ThreadLow, c.s.CollarLow
		k, err := TorquePerForce(c.s, f, fc)
		require.NoError(t, err, c.name)
		assert.InDelta(t, c.raise, c.load*k, c.tol, "%s: raise", c.name)
		if !math.IsNaN(c.lower) {
			low, err := LooseningTorquePerForce(c.s, f, fc)
			require.NoError(t, err, c.name)
			assert.InDelta(t, c.lower, c.load*low, c.tol, "%s: lower", c.name)
		}
		if !math.IsNaN(c.efficiency) {
			e, err := Efficiency(c.s, f, fc)
			require.NoError(t, err, c.name)
			assert.InDelta(t, c.efficiency, e, 1e-6, "%s: efficiency", c.name)
		}
	}
}

// An Acme screw in inches; the value is the formula's own (a scan of the
// textbook example reads 1809 lbf·in, 0.3 % off, not explained).
func TestAcmeInches(t *testing.T) {
	s := trial.Screw{PitchDiameter: 1.3429 * inch, Lead: 0.25 * inch, HalfFlank: 14.5 * deg}
	k, err := TorquePerForce(s, 0.15, 0)
	require.NoError(t, err)
	assert.InDelta(t, 1814.41, 12500*lbf*k/(lbf*inch), 0.005)
}

// The same formula written with the lead angle: (d/2)·tan(lambda + rho').
func TestLeadAngleForm(t *testing.T) {
	for _, s := range []trial.Screw{screw(18, 4, 15, 0, 0, 24), screw(30, 8, 0, 0, 0, 40), screw(12, 20, 14.5, 0, 0, 0)} {
		for _, f := range []float64{0.02, 0.1, 0.3} {
			k, err := TorquePerForce(s, f, 0)
			require.NoError(t, err)
			lambda := math.Atan(s.Lead / (math.Pi * s.PitchDiameter))
			rho := math.Atan(f / math.Cos(s.HalfFlank))
			assert.InEpsilon(t, s.PitchDiameter/2*math.Tan(lambda+rho), k, 1e-13)
			back, err := LooseningTorquePerForce(s, f, 0)
			require.NoError(t, err)
			assert.InDelta(t, s.PitchDiameter/2*math.Tan(rho-lambda), back, 1e-16)
		}
	}
}

// Invented vise: 5 kg at 150 mm plus the handle, by friction.
func TestInventedVise(t *testing.T) {
	h, s := vise()
	torque, err := Torque(h, 5)
	require.NoError(t, err)
	assert.InDelta(t, 7.4962758, torque, 1e-7)
	for _, c := range []struct{ f, fc, want float64 }{
		{0.10, 0.12, 2482.2612}, {0.15, 0.12, 2143.7309}, {0.20, 0.12, 1884.7753},
	} {
		n, err := ForceAt(s, torque, c.f, c.fc)
		require.NoError(t, err)
		assert.InDelta(t, c.want, n, 1e-3)
		w, err := WeightFor(h, s, n, c.f, c.fc)
		require.NoError(t, err)
		assert.InDelta(t, 5, w, 1e-12)
	}
	// Share of the torque that makes clamp force, and the slopes of ln N.
	e, err := Efficiency(s, 0.15, 0.12)
	require.NoError(t, err)
	assert.InDelta(t, 0.18, e, 0.005)
	lnN := func(f, fc float64) float64 {
		n, err := ForceAt(s, torque, f, fc)
		require.NoError(t, err)
		return math.Log(n)
	}
	const d = 1e-5
	assert.InDelta(t, -2.7377, (lnN(0.15+d, 0.12)-lnN(0.15-d, 0.12))/(2*d), 1e-4)
	assert.InDelta(t, -3.4317, (lnN(0.15, 0.12+d)-lnN(0.15, 0.12-d))/(2*d), 1e-4)
}

// Bhandari Ex. 6.9 inverted: one handle torque, three frictions.
func TestScrewClampInverted(t *testing.T) {
	s := screw(19.5, 5, 0, 0, 0, 30)
	for _, c := range []struct{ f, want float64 }{{0.10, 1035.6}, {0.15, 750.0}, {0.20, 587.5}} {
		n, err := ForceAt(s, 3.4021986, c.f, c.f)
		require.NoError(t, err)
		assert.InDelta(t, c.want, n, 0.05)
	}
}

func TestForceRange(t *testing.T) {
	h, s := vise()
	s.ThreadLow, s.ThreadHigh = 0.10, 0.20
	r, err := Force(h, s, 5)
	require.NoError(t, err)
	assert.InDelta(t, 2143.7309, r.Value, 1e-3)
	assert.InDelta(t, 1884.7753, r.Low, 1e-3)
	assert.InDelta(t, 2482.2612, r.High, 1e-3)

	// What must hold is asked of the middle by its own factor; a limit is taken at
	// the least friction.
	w, err := WeightForMiddle(h, s, r.Value)
	require.NoError(t, err)
	assert.InDelta(t, 5, w, 1e-12)
	w, err = WeightForSpare(h, s, r.High)
	require.NoError(t, err)
	assert.InDelta(t, 5, w, 1e-12)
}

// Handle weights for a clamp force of 662.484 N on 150 mm at standard gravity
// (invented example): 1.737 kg at friction 0.15, 2.224 kg at 0.20.
func TestWeightForWorkedExample(t *testing.T) {
	h := trial.Handle{Arm: 0.150}
	s := screw(18, 4, 15, 0.15, 0.20, 24)
	k, err := TorquePerForce(s, 0.15, 0.15)
	require.NoError(t, err)
	assert.InDelta(t, 2.55509, 662.48429*k, 1e-5)
	for _, c := range []struct{ f, want float64 }{{0.15, 1.737}, {0.20, 2.224}} {
		w, err := WeightFor(h, s, 662.48429, c.f, c.f)
		require.NoError(t, err)
		assert.InDelta(t, c.want, w, 5e-4)
	}
}

func TestLevels(t *testing.T) {
	h, s := vise()
	r, err := OfLevel(trial.Level{Name: "usual", Clamp: 620}, trial.Handle{}, trial.Screw{})
	require.NoError(t, err)
	assert.Equal(t, Range{620, 620, 620}, r)
	r, err = OfLevel(trial.Level{Name: "usual", Weight: 5}, h, s)
	require.NoError(t, err)
	assert.InDelta(t, 2143.7309, r.Value, 1e-3)
	for _, c := range []struct {
		l trial.Level
		h trial.Handle
		s trial.Screw
	}{
		{trial.Level{Name: "light"}, h, s},
		{trial.Level{Name: "light", Weight: 5}, h, trial.Screw{}},
		{trial.Level{Name: "light", Weight: 5}, trial.Handle{}, s},
	} {
		_, err := OfLevel(c.l, c.h, c.s)
		assert.ErrorIs(t, err, ErrUnknown)
		assert.ErrorContains(t, err, `"light"`)
	}
	_, err = OfLevel(trial.Level{Clamp: -1}, h, s)
	assert.ErrorContains(t, err, "above 0")
}

func TestBadInput(t *testing.T) {
	h, s := vise()
	nan, inf := math.NaN(), math.Inf(1)
	for name, change := range map[string]func(*trial.Handle, *trial.Screw, *float64){
		"pitch diameter":       func(_ *trial.Handle, s *trial.Screw, _ *float64) { s.PitchDiameter = -1 },
		"lead":                 func(_ *trial.Handle, s *trial.Screw, _ *float64) { s.Lead = 0 },
		"half flank":           func(_ *trial.Handle, s *trial.Screw, _ *float64) { s.HalfFlank = 1.6 },
		"thread friction":      func(_ *trial.Handle, s *trial.Screw, _ *float64) { s.ThreadLow, s.ThreadHigh = 0, 0 },
		"lower end first":      func(_ *trial.Handle, s *trial.Screw, _ *float64) { s.ThreadLow, s.ThreadHigh = 0.2, 0.1 },
		"collar friction":      func(_ *trial.Handle, s *trial.Screw, _ *float64) { s.CollarLow, s.CollarHigh = -0.1, -0.1 },
		"mean collar diameter": func(_ *trial.Handle, s *trial.Screw, _ *float64) { s.CollarDiameter = 0 },
		"screw friction":       func(_ *trial.Handle, s *trial.Screw, _ *float64) { s.ThreadHigh = 5 },
		"no torque turns":      func(_ *trial.Handle, s *trial.Screw, _ *float64) { s.Lead, s.ThreadHigh = 0.2, 1.5 },
		"handle arm":           func(h *trial.Handle, _ *trial.Screw, _ *float64) { h.Arm = -0.1 },
		"mass of the handle":   func(h *trial.Handle, _ *trial.Screw, _ *float64) { h.Mass = nan },
		"own mass":             func(h *trial.Handle, _ *trial.Screw, _ *float64) { h.MassArm = inf },
		"tilt":                 func(h *trial.Handle, _ *trial.Screw, _ *float64) { h.Tilt = math.Pi / 2 },
		"latitude":             func(h *trial.Handle, _ *trial.Screw, _ *float64) { h.Latitude = 95 * deg },
		"weight on the handle": func(_ *trial.Handle, _ *trial.Screw, w *float64) { *w = -5 },
		"no torque":            func(h *trial.Handle, _ *trial.Screw, w *float64) { h.Mass, *w = 0, 0 },
	} {
		h, s, w := h, s, 5.0
		change(&h, &s, &w)
		_, err := Force(h, s, w)
		assert.ErrorContains(t, err, name)
	}
	_, err := WeightFor(h, s, 1e-3, 0.15, 0.12)
	assert.ErrorContains(t, err, "own mass makes more")
	_, err = WeightFor(h, s, nan, 0.15, 0.12)
	assert.ErrorContains(t, err, "above 0")
	_, err = ForceAt(s, nan, 0.15, 0.12)
	assert.ErrorContains(t, err, "torque")
}

// The loosening torque falls below zero where the screw does not lock itself.
func TestScrewThatRunsBack(t *testing.T) {
	k, err := LooseningTorquePerForce(screw(12, 20, 0, 0.1, 0, 0), 0.1, 0)
	require.NoError(t, err)
	assert.Negative(t, k)
}
