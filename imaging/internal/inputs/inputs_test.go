package inputs

import (
	"os"
	"path/filepath"
	"testing"
)

// TestLeave compares with what NumPy 1.24 writes for
// numpy.array([[1, 2, 3], [4, 5, 65535]], dtype=numpy.uint16).
func TestLeave(t *testing.T) {
	folder := t.TempDir()
	t.Setenv(Folder, folder)
	Leave(t, "a", []uint16{1, 2, 3, 4, 5, 65535}, 2, 3)
	got, err := os.ReadFile(filepath.Join(folder, "a.npy"))
	if err != nil {
		t.Fatal(err)
	}
	const magic = "\x93NUMPY\x01\x00\x76\x00"
	const body = "\x01\x00\x02\x00\x03\x00\x04\x00\x05\x00\xff\xff"
	if len(got) != 128+12 || string(got[:10]) != magic || string(got[128:]) != body {
		t.Errorf("%q", got)
	}
	if Path(t, "a.npy") != filepath.Join(folder, "a.npy") {
		t.Error("what was left isn't found")
	}
}

func TestLeaveNothingWithoutFolder(t *testing.T) {
	t.Setenv(Folder, "")
	Leave(t, "a", []float32{1}, 1)
	if _, err := os.Stat("a.npy"); err == nil {
		t.Error("a file was written")
	}
}
