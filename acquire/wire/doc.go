// Package wire reads and writes the line protocol of a load cell on a serial
// line: from bytes to device samples, with every lost, damaged or repeated line
// counted.
package wire
