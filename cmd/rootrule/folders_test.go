//go:build !ci

package main

import (
	"os"
	"path/filepath"
	"testing"
)

func TestReadFolder(t *testing.T) {
	dir := t.TempDir()
	for _, err := range []error{os.Mkdir(filepath.Join(dir, "in"), 0o700), os.WriteFile(filepath.Join(dir, "a.png"), nil, 0o600),
		os.Symlink(filepath.Join(dir, "in"), filepath.Join(dir, "link")), os.Symlink(filepath.Join(dir, "gone"), filepath.Join(dir, "dangling"))} {
		if err != nil {
			t.Fatal(err)
		}
	}
	got, err := readFolder(dir)
	if err != nil || len(got) != 3 {
		t.Fatalf("%+v, %v", got, err)
	}
	for i, want := range []struct {
		name   string
		folder bool
	}{{"a.png", false}, {"in", true}, {"link", true}} {
		if got[i].Name != want.name || got[i].Folder != want.folder || got[i].Changed.IsZero() {
			t.Errorf("entry %d: %+v, want %+v", i, got[i], want)
		}
	}
	if _, err := readFolder(filepath.Join(dir, "gone")); err == nil {
		t.Error("a folder that isn't there was read")
	}
	if home, others := places(); home == "" || len(others) == 0 {
		t.Errorf("%q, %q: no place to start from", home, others)
	}
}
