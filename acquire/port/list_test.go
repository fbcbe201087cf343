package port

import (
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestParseIdentity(t *testing.T) {
	for text, want := range map[string]Identity{
		"usb:2341:0043":         {"2341", "0043", ""},
		"usb:1a86:7523:A:B c":   {"1A86", "7523", "A:B c"},
		"usb:2341:0043:7543931": {"2341", "0043", "7543931"},
	} {
		id, ok, err := ParseIdentity(text)
		require.NoError(t, err, text)
		assert.True(t, ok)
		assert.Equal(t, want, id)
		again, _, err := ParseIdentity(id.String())
		require.NoError(t, err)
		assert.Equal(t, id, again)
	}
	_, ok, err := ParseIdentity("/dev/ttyUSB0")
	assert.False(t, ok)
	assert.NoError(t, err)
	for _, text := range []string{"usb:", "usb:2341", "usb:23410043", "usb:234g:0043", "usb:02341:0043"} {
		_, _, err := ParseIdentity(text)
		assert.ErrorContains(t, err, "griptrial devices", text)
	}
}

func TestChoose(t *testing.T) {
	devices := []Device{
		{Path: "/dev/ttyUSB0", USB: true, Vendor: "1A86", Product: "7523"},
		{Path: "/dev/ttyUSB1", USB: true, Vendor: "1A86", Product: "7523", Serial: "2"},
		{Path: "/dev/ttyS0"},
	}
	d, err := choose(Identity{"1A86", "7523", "2"}, devices)
	require.NoError(t, err)
	assert.Equal(t, "/dev/ttyUSB1", d.Path)
	_, err = choose(Identity{"1A86", "7523", ""}, devices)
	assert.ErrorContains(t, err, "/dev/ttyUSB0, /dev/ttyUSB1", "two are alike: the user must choose")
	_, err = choose(Identity{"0000", "0000", ""}, devices)
	assert.ErrorIs(t, err, os.ErrNotExist)
	_, ok := devices[2].Identity()
	assert.False(t, ok)
}

func TestStablePaths(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("Windows has no links of this kind")
	}
	dir := t.TempDir()
	target := filepath.Join(dir, "ttyUSB0")
	require.NoError(t, os.WriteFile(target, nil, 0o600))
	links := filepath.Join(dir, "by-id")
	require.NoError(t, os.Mkdir(links, 0o700))
	link := filepath.Join(links, "usb-cell-port0")
	require.NoError(t, os.Symlink("../ttyUSB0", link))
	require.NoError(t, os.Symlink("../gone", filepath.Join(links, "usb-gone")))
	real, err := filepath.EvalSymlinks(target)
	require.NoError(t, err)
	assert.Equal(t, map[string]string{real: link}, stablePaths(links))
	assert.Empty(t, stablePaths(filepath.Join(dir, "none")))
	assert.Equal(t, link, Device{Path: target, Stable: link}.open())
	assert.Equal(t, target, Device{Path: target}.open())
}

func TestList(t *testing.T) {
	devices, err := List()
	require.NoError(t, err)
	for _, d := range devices {
		assert.NotEmpty(t, d.Path)
	}
	assert.True(t, maybeUSB("/dev/ttyACM3"))
	assert.False(t, maybeUSB("/dev/pts/3"))
	assert.False(t, maybeUSB("/dev/ttyS0"), "asking for it would open every built-in port")
}
