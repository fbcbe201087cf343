package disk

import (
	"os"

	"golang.org/x/sys/windows"
)

// rename asks Windows to return only when the move is on the disk: a folder
// cannot be synced there, so that the move itself must do it.
func rename(from, to string) error {
	fail := func(err error) error { return &os.LinkError{Op: "rename", Old: from, New: to, Err: err} }
	old, err := windows.UTF16PtrFromString(from)
	if err != nil {
		return fail(err)
	}
	new, err := windows.UTF16PtrFromString(to)
	if err != nil {
		return fail(err)
	}
	if err := windows.MoveFileEx(old, new, windows.MOVEFILE_REPLACE_EXISTING|windows.MOVEFILE_WRITE_THROUGH); err != nil {
		return fail(err)
	}
	return nil
}

// syncDir has nothing to do: renames are written through, and syncing a new file
// writes its name with it.
func syncDir(string) error { return nil }
