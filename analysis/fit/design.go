package fit

// layout says which column of the design is what. Facings and blocks form a
// graph: an edge for each facing met in a block. Within one connected
// component every difference between facings can be estimated; between two it
// cannot. Each component's first block is the reference and has no column.
type layout struct {
	component      []int // of each facing
	blockComponent []int // of each block
	blockColumn    []int // of each block; -1: the reference
	firstSlope     int
	columns        int
}

// newLayout finds the components and numbers the columns.
func newLayout(d Data) layout {
	parent := make([]int, d.Facings+d.Blocks)
	for i := range parent {
		parent[i] = i
	}
	root := func(i int) int {
		for parent[i] != i {
			parent[i] = parent[parent[i]]
			i = parent[i]
		}
		return i
	}
	for i := range d.Block {
		a, b := root(d.Facing[i]), root(d.Facings+d.Block[i])
		// The smaller index leads, so that numbering follows the data.
		if a < b {
			parent[b] = a
		} else {
			parent[a] = b
		}
	}
	if d.Block == nil { // one block joins all
		for i := range parent {
			parent[i] = 0
		}
	}
	l := layout{component: make([]int, d.Facings), blockComponent: make([]int, d.Blocks), blockColumn: make([]int, d.Blocks)}
	for i := range l.component {
		l.component[i] = root(i)
	}
	l.columns = d.Facings
	seen := map[int]bool{}
	for b := range l.blockColumn {
		c := root(d.Facings + b)
		l.blockComponent[b] = c
		if !seen[c] {
			seen[c] = true
			l.blockColumn[b] = -1
			continue
		}
		l.blockColumn[b] = l.columns
		l.columns++
	}
	l.firstSlope = l.columns
	l.columns += len(d.Slopes)
	return l
}

// rows writes the design matrix, row-major. Slopes are centred, which leaves
// their estimates as they are and keeps the columns apart numerically.
func (l layout) rows(d Data) []float64 {
	n, p := len(d.Facing), l.columns
	x := make([]float64, n*p)
	centre := make([]float64, len(d.Slopes))
	for j, s := range d.Slopes {
		for _, v := range s {
			centre[j] += v / float64(n)
		}
	}
	for i := range n {
		row := x[i*p : (i+1)*p]
		row[d.Facing[i]] = 1
		if d.Block != nil {
			if c := l.blockColumn[d.Block[i]]; c >= 0 {
				row[c] = 1
			}
		}
		for j, s := range d.Slopes {
			row[l.firstSlope+j] = s[i] - centre[j]
		}
	}
	return x
}
