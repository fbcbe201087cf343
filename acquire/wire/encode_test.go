package wire

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestCRC16CheckValue(t *testing.T) {
	// The catalogued check value of CRC-16/IBM-3740.
	assert.Equal(t, uint16(0x29B1), CRC16([]byte("123456789")))
	assert.Equal(t, uint16(0xFFFF), CRC16(nil))
}

func TestAppendSample(t *testing.T) {
	// The CRC 6320 of "0,12500,-1234" was also computed on an AVR.
	assert.Equal(t, ":0,12500,-1234*6320\n", string(AppendSample(nil, 0, 12500, -1234)))
	assert.Equal(t, "x:65535,4294967295,-8388608*", string(AppendSample([]byte("x"), 65535, 1<<32-1, -1<<23))[:28])
}

func TestAppendFact(t *testing.T) {
	got := string(AppendFact([]byte("before\n"), "sps", "80"))
	assert.Regexp(t, `^before\n#sps=80\*[0-9A-F]{4}\n$`, got)
	assert.Equal(t, "before\n#sps=80*"+hex4(CRC16([]byte("#sps=80")))+"\n", got)
}

func hex4(v uint16) string {
	const digits = "0123456789ABCDEF"
	return string([]byte{digits[v>>12], digits[v>>8&15], digits[v>>4&15], digits[v&15]})
}
