package wire

import "strconv"

// crcTable holds the CRC of each single byte, for polynomial 0x1021, most
// significant bit first.
var crcTable = func() (table [256]uint16) {
	for i := range table {
		crc := uint16(i) << 8
		for range 8 {
			if crc&0x8000 != 0 {
				crc = crc<<1 ^ 0x1021
			} else {
				crc <<= 1
			}
		}
		table[i] = crc
	}
	return table
}()

// CRC16 returns the checksum of a line: CRC-16/IBM-3740, polynomial 0x1021,
// start value 0xFFFF, bits not reflected, no final inversion. Its check value,
// the CRC of "123456789", is 0x29B1.
func CRC16(b []byte) uint16 {
	crc := uint16(0xFFFF)
	for _, c := range b {
		crc = crc<<8 ^ crcTable[byte(crc>>8)^c]
	}
	return crc
}

// AppendSample appends the line of one conversion to dst, LF included: the
// number of the conversion, the device's clock in microseconds, and the counts
// of the converter, which the caller keeps within 24 bits.
func AppendSample(dst []byte, seq uint16, tMicros uint32, counts int32) []byte {
	dst = append(dst, ':')
	start := len(dst)
	dst = strconv.AppendUint(dst, uint64(seq), 10)
	dst = append(dst, ',')
	dst = strconv.AppendUint(dst, uint64(tMicros), 10)
	dst = append(dst, ',')
	dst = strconv.AppendInt(dst, int64(counts), 10)
	return appendCheck(dst, start)
}

// AppendFact appends the line that states one property of the device to dst,
// LF included. Key and value must be printable ASCII without '=' in the key,
// and neither may hold '*', ':' or '#', which mark the parts of a line.
func AppendFact(dst []byte, key, value string) []byte {
	start := len(dst)
	dst = append(dst, '#')
	dst = append(dst, key...)
	dst = append(dst, '=')
	dst = append(dst, value...)
	return appendCheck(dst, start)
}

// appendCheck appends the checksum of dst[start:] and the line end.
func appendCheck(dst []byte, start int) []byte {
	const hex = "0123456789ABCDEF"
	crc := CRC16(dst[start:])
	return append(dst, '*', hex[crc>>12], hex[crc>>8&15], hex[crc>>4&15], hex[crc&15], '\n')
}
