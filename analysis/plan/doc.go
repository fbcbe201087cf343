// Package plan lays a trial out before the first pull: the order in which the
// pulls are made, drawn at random within blocks, and how many pulls a claim
// needs.
package plan
