// Package figure draws what a trial found: each figure answers one question
// and is titled with the answer. A figure writes itself to an io.Writer as
// SVG, PNG or PDF; the same figure gives the same bytes.
//
// The look is our own and quiet: thin ink lines on paper, a marker shape for
// each facing as well as a shade, names beside what they name, a unit on every
// axis. A slipped pull is a filled mark; a held pull is an arrow that starts
// at its lower bound; a void pull is hollow and stands below the axis, where
// it has no value.
//
// This is the only package that imports gonum/plot. Its canvases do the
// drawing; layout, axes and marks are made here, because one figure has to
// serve a phone, a printed page and a wall.
package figure
