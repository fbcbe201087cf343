// Package acquire is the map of the layer that gets the data of a trial; its
// packages do the work.
//
//	port        find, open, lose and regain the serial port of a load cell
//	wire        bytes to device samples; every lost, bad or repeated line counted
//	loadcell    counts to newtons with a stored calibration; tare
//	disk        files that appear whole or not at all, and stay
//	table       CSV with units in the header: traces and readings
//	study       the study folder: plan, ledger of pulls, traces
//	bench       one session at the vise: next pull, record, judge, save
//	simrig      a simulated vise, part and load cell
//	acquiretest recorded streams, a device and a disk with faults on demand, for tests
//
// A pull takes this way:
//
//	port → wire → loadcell → bench → study
//
// port knows bytes and no lines, wire knows lines and no force, loadcell knows
// force and no pull. Each says what it could not make sense of, and nothing is
// joined over a gap: a new segment begins where the device's clock or numbering
// begins anew.
//
// What is kept is what came: raw counts and the device's clock. Newtons are
// derived, and derived again when a calibration is corrected.
//
// Packages here may import griptrial/analysis and never griptrial/report. None
// reads the clock of the machine on its own: a clock is handed in, so that a
// test can hold it.
package acquire
