// Package analysis turns readings of a grip trial into results: which facing
// holds best, how sure that is, and what it means for the clamp.
//
// It is the front door. Results are made by one function, Analyse, which
// composes the subpackages; each of those has one job and may be used alone:
//
//	trial        the shared vocabulary, types only
//	unit         quantities and exact conversion factors
//	slip         slip point of one trace, or the reason there is none
//	contact      grip factor of a contact patch
//	clamp        clamp force from handle torque
//	calibration  counts of a load cell against weights
//	dist         distributions that gonum lacks
//	fit          log-normal models
//	compare      ratios between facings, adjusted
//	plan         randomised blocked run order, pulls needed
//	uncertainty  GUM budget and Monte Carlo
//	cutting      load of a milling cut
//	window       the band of clamp force that holds and spares
//
// Notation: F force at which the part slips (N), N clamp force on one jaw face
// (N), phi grip factor, mu = F/(faces·N·phi) friction coefficient. Scatter is
// multiplicative, so every model is on log mu and results are ratios and
// geometric means.
//
// Nothing here reads files, the clock or a global random source: the same
// input gives the same bits.
package analysis
