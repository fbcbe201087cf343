package wire_test

import (
	"testing"

	"griptrial/acquire/acquiretest"
)

func TestMain(m *testing.M) { acquiretest.Main(m) }
