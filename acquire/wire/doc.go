// Package wire reads and writes the line protocol of a load cell on a serial
// line: from bytes to device samples, with every lost, damaged or repeated line
// counted.
//
// A line is
//
//	":" seq "," t_us "," counts "*" HHHH LF      a sample
//	"#" key "=" value "*" HHHH LF                a fact about the device
//
// where HHHH is a CRC-16 (see CRC16) in upper case. seq counts conversions of
// the converter and wraps at 65536, t_us is the device's clock in microseconds
// and wraps at 2^32, counts is a signed number of at most 24 bits.
//
// A Reader does three things in turn. It cuts the bytes into lines, and where a
// line is damaged it looks behind each start mark (':' or '#') for a whole line
// that was glued to it. It refuses whatever fails the grammar or the checksum
// and hands it on as it came. And it follows the two counters of the samples:
// a step that fits the sample interval continues the segment and tells how many
// conversions are missing; a line that does not fit is held until the next one
// shows whether the device started anew, paused, or changed its rate (a new
// segment begins) or the line itself was wrong (it is rejected).
//
// So samples plus lost is what the device sent. What it cannot know is stated:
// conversions between the last good line before a reset and the reset itself
// leave no trace in the counters.
//
// The device's clock is the clock of a sample. The time of arrival is kept
// beside it but serial drivers bunch lines, so it serves only to tell the wall
// clock of the start and to notice silence.
package wire
