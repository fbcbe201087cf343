package fit

import "math"

// manyRows is where Ordinary turns to sums over cells: below it the rows are
// solved as they are, which keeps every digit and takes no time.
const manyRows = 20000

// cellFit is the least-squares solution by cells of facing and block: within a
// cell rows differ by slopes alone, so that
//
//	sum over rows (y - X·b)² = sum over cells n (mean y - mean X·b)² + sum over rows (dy - dx·slopes)²,
//
// d the deviation from the cell's mean. The second sum is brought to as many
// rows as there are slopes by Householder QR, and the two are solved together.
// ok is false where a slope does not vary within cells; the rows are then to be
// solved as they are. y is the log value less shift.
func cellFit(d Data, l layout, y []float64) (line Line, fitted []float64, ok bool) {
	n, p, q := len(y), l.columns, len(d.Slopes)
	blocks := max(1, d.Blocks)
	of := make([]int, n)
	size := make([]float64, d.Facings*blocks)
	mean := make([]float64, len(size)*(q+1)) // of y, then of each slope
	for i, f := range d.Facing {
		of[i] = f * blocks
		if d.Block != nil {
			of[i] += d.Block[i]
		}
		size[of[i]]++
		m := mean[of[i]*(q+1):]
		m[0] += y[i]
		for j, s := range d.Slopes {
			m[j+1] += s[i]
		}
	}
	centre := make([]float64, q)
	for c, k := range size {
		for j := range q + 1 {
			if j > 0 {
				centre[j-1] += mean[c*(q+1)+j] / float64(n)
			}
			mean[c*(q+1)+j] /= math.Max(1, k)
		}
	}
	dx, dy := make([]float64, n*q), make([]float64, n)
	for i, c := range of {
		dy[i] = y[i] - mean[c*(q+1)]
		for j, s := range d.Slopes {
			dx[i*q+j] = s[i] - mean[c*(q+1)+j+1]
		}
	}
	var small, target []float64
	rest := dot(dy, dy)
	if q > 0 {
		h, err := factor(dx, q, n)
		if err != nil {
			return line, nil, false
		}
		h.turn(dy)
		rest = dot(dy[q:], dy[q:])
		for j := range q {
			row := make([]float64, p)
			row[l.firstSlope+j] = h.diag[j]
			for k := j + 1; k < q; k++ {
				row[l.firstSlope+k] = h.a[k*n+j]
			}
			small, target = append(small, row...), append(target, dy[j])
		}
	}
	rows := make([]float64, len(size)*p)
	for c, k := range size {
		row := rows[c*p : (c+1)*p]
		row[c/blocks] = 1
		if d.Block != nil && l.blockColumn[c%blocks] >= 0 {
			row[l.blockColumn[c%blocks]] = 1
		}
		for j := range q {
			row[l.firstSlope+j] = mean[c*(q+1)+j+1] - centre[j]
		}
		if k > 0 {
			root := math.Sqrt(k)
			for _, v := range row {
				small = append(small, root*v)
			}
			target = append(target, root*mean[c*(q+1)])
		}
	}
	if len(target) < p {
		return line, nil, false
	}
	line, err := LeastSquares(small, p, target)
	if err != nil {
		return line, nil, false
	}
	line.RSS += rest
	line.DF = n - p
	fitted = make([]float64, n)
	level := make([]float64, len(size))
	for c := range level {
		level[c] = dot(rows[c*p:(c+1)*p], line.Coef)
	}
	for i, c := range of {
		fitted[i] = level[c]
		for j, s := range d.Slopes {
			fitted[i] += line.Coef[l.firstSlope+j] * (s[i] - mean[c*(q+1)+j+1])
		}
	}
	return line, fitted, true
}
