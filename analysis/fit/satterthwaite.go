package fit

// satterthwaite gives the degrees of freedom of contrasts, and those of the sum
// sigma² + tau², at the REML maximum s2 = sigma², t2 = tau²; ok is false where
// the information matrix is not positive definite.
//
// Within samples V⁻¹ acts as 1/sigma², on a sample's mean as 1/lambda with
// lambda = sigma² + size·tau², so that for P = V⁻¹ - V⁻¹X(X'V⁻¹X)⁻¹X'V⁻¹ and
// V_a = dV/dtheta_a the observed information
//
//	I_ab = -1/2 tr(P V_a P V_b) + r'V⁻¹ V_a P V_b V⁻¹ r
//
// is made of sums over samples.
func (m *strata) satterthwaite(s2, t2 float64, at point) (contrast freedom, total float64, ok bool) {
	p := m.p
	c := make([]float64, p*p) // (X'V⁻¹X)⁻¹
	for i := range c {
		c[i] = at.inverse[i] * s2
	}
	// First order: X'V⁻¹ V_a V⁻¹ X and X'V⁻¹ V_a V⁻¹ r; second order: the
	// same with two V's, index 0: sigma² twice, 1: one each, 2: tau² twice.
	var first [2][]float64
	var firstR [2][]float64
	var second [3][]float64
	var tr, rr [3]float64
	for a := range 2 {
		first[a], firstR[a] = make([]float64, p*p), make([]float64, p)
	}
	for k := range 3 {
		second[k] = make([]float64, p*p)
	}
	for i, w := range m.within {
		first[0][i] = w / (s2 * s2)
		second[0][i] = w / (s2 * s2 * s2)
	}
	rssWithin := m.rssWithin
	shifted := multiply(m.within, at.shift)
	for j := range p {
		firstR[0][j] = (m.withinR[j] - shifted[j]) / (s2 * s2)
		rssWithin -= at.shift[j] * (2*m.withinR[j] - shifted[j])
	}
	rr[0] = rssWithin / (s2 * s2 * s2)
	tr[0] = (float64(m.n) - float64(len(m.size))) / (s2 * s2)
	for s, size := range m.size {
		row := m.mean[s*p : (s+1)*p]
		e := m.rMean[s] - dot(row, at.shift)
		lambda := s2 + size*t2
		for a, w := range [2]float64{size / (lambda * lambda), size * size / (lambda * lambda)} {
			addOuter(first[a], row, w)
			for j := range p {
				firstR[a][j] += w * row[j] * e
			}
		}
		for k, w := range [3]float64{1, size, size * size} {
			addOuter(second[k], row, w*size/(lambda*lambda*lambda))
			rr[k] += w * size * e * e / (lambda * lambda * lambda)
			tr[k] += w / (lambda * lambda)
		}
	}
	var half [2][]float64
	for a := range 2 {
		half[a] = product(c, first[a], p)
	}
	var info [3]float64
	for k, ab := range [3][2]int{{0, 0}, {0, 1}, {1, 1}} {
		a, b := ab[0], ab[1]
		trace2 := 0.0
		for i := range p {
			for j := range p {
				trace2 += half[a][i*p+j] * half[b][j*p+i]
			}
		}
		trPP := tr[k] - 2*trace(c, second[k]) + trace2
		quad := rr[k] - dot(firstR[a], multiply(c, firstR[b]))
		info[k] = -0.5*trPP + quad
	}
	det := info[0]*info[2] - info[1]*info[1]
	if !(det > 0 && info[0] > 0) {
		return nil, 0, false
	}
	cov := [3]float64{info[2] / det, -info[1] / det, info[0] / det}
	total = 2 * (s2 + t2) * (s2 + t2) / (cov[0] + 2*cov[1] + cov[2])
	return func(l []float64, v float64) float64 {
		cl := multiply(c, l)
		g0, g1 := quadratic(first[0], cl), quadratic(first[1], cl)
		return 2 * v * v / (g0*g0*cov[0] + 2*g0*g1*cov[1] + g1*g1*cov[2])
	}, total, true
}
