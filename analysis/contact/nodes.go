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

var gauss4, gauss6, gauss8, gauss16, gauss20, gauss24 = gauss(4), gauss(6), gauss(8), gauss(16), gauss(20), gauss(24)

// node is a point that carries a share of the clamp force. Seen from far away
// a patch is as good as a few of them.
type node struct{ x, y, w float64 }

// polygonNodes covers a convex polygon with n x n Gauss points to a rectangle or
// to each triangle.
func polygonNodes(poly []Point, p plane, n rule) []node {
	if len(poly) == 4 && poly[0].Y == poly[1].Y && poly[1].X == poly[2].X && poly[2].Y == poly[3].Y && poly[3].X == poly[0].X {
		return rectangleNodes(poly[0], poly[2], p, n)
	}
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

// discNodes covers a disc, along a diameter in equal angles of the half circle
// and across it.
func discNodes(o circle, p plane, n rule) []node {
	var list []node
	for i, v := range gauss16.x {
		sin, cos := math.Sincos(math.Pi / 2 * (1 + v))
		for j, t := range n.x {
			x, y := o.centre.X+o.radius*cos, o.centre.Y+o.radius*sin*t
			w := gauss16.w[i] * math.Pi / 2 * n.w[j] * o.radius * o.radius * sin * sin
			list = append(list, node{x, y, o.sign * w * p.at(x, y)})
		}
	}
	return list
}

func rectangleNodes(lo, hi Point, p plane, n rule) []node {
	nodes := make([]node, 0, len(n.x)*len(n.x))
	wx, wy := (hi.X-lo.X)/2, (hi.Y-lo.Y)/2
	for i, s := range n.x {
		x := lo.X + wx*(1+s)
		for j, t := range n.x {
			y := lo.Y + wy*(1+t)
			nodes = append(nodes, node{x, y, n.w[i] * n.w[j] * wx * wy * p.at(x, y)})
		}
	}
	return nodes
}
