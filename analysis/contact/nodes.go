package contact

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// rule is a Gauss-Legendre rule on [-1, 1].
type rule struct{ x, w []float64 }

func gauss(n int) rule {
	r := rule{make([]float64, n), make([]float64, n)}
	quad.Legendre{}.FixedLocations(r.x, r.w, -1, 1)
	return r
}

var gauss4, gauss8, gauss16, gauss24 = gauss(4), gauss(8), gauss(16), gauss(24)

// node is a point that carries a share of the clamp force. Seen from far away
// a patch is as good as a few of them.
type node struct{ x, y, w float64 }

// polygonNodes covers a convex polygon with n x n Gauss points to a triangle.
func polygonNodes(poly []Point, p plane, n rule) []node {
	var nodes []node
	a := poly[0]
	for i := 1; i+1 < len(poly); i++ {
		b, c := poly[i], poly[i+1]
		twice := (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X)
		for j, s := range n.x {
			s = (1 + s) / 2
			for k, t := range n.x {
				t = (1 + t) / 2
				x := a.X + s*((b.X-a.X)+t*(c.X-b.X))
				y := a.Y + s*((b.Y-a.Y)+t*(c.Y-b.Y))
				nodes = append(nodes, node{x, y, n.w[j] * n.w[k] / 4 * s * twice * p.at(x, y)})
			}
		}
	}
	return nodes
}

// segmentNodes covers the part of a disc where s > open with chords square to
// the direction (ux, uy).
func segmentNodes(radius, open, ux, uy float64, p plane, along, across rule, sign float64) []node {
	var nodes []node
	half := math.Pi
	if c := open / radius; c >= 1 {
		return nil
	} else if c > -1 {
		half = math.Acos(c)
	}
	for i, v := range along.x {
		sin, cos := math.Sincos(half / 2 * (1 + v))
		for j, t := range across.x {
			s, q := radius*cos, radius*sin*t
			x, y := s*ux-q*uy, s*uy+q*ux
			w := along.w[i] * half / 2 * across.w[j] * radius * radius * sin * sin
			nodes = append(nodes, node{x, y, sign * w * p.at(x, y)})
		}
	}
	return nodes
}
