//go:build !ci

package main

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"

	"rootrule/app/desk"
)

// readFolder lists a folder. What can't be looked at in it is left out.
func readFolder(path string) ([]desk.Entry, error) {
	list, err := os.ReadDir(path)
	if err != nil {
		return nil, fmt.Errorf("look into a folder: %w", err)
	}
	var out []desk.Entry
	for _, e := range list {
		info, err := e.Info()
		if err == nil && info.Mode()&fs.ModeSymlink != 0 {
			info, err = os.Stat(filepath.Join(path, e.Name()))
		}
		if err != nil || !info.IsDir() && !info.Mode().IsRegular() {
			continue
		}
		out = append(out, desk.Entry{Name: e.Name(), Folder: info.IsDir(), Changed: info.ModTime()})
	}
	return out, nil
}

// places returns the user's own folder, and others where images may lie.
func places() (home string, others []string) {
	home, err := os.UserHomeDir()
	if err != nil {
		home = string(filepath.Separator)
	}
	may := []string{home, filepath.Join(home, "Desktop"), filepath.Join(home, "Downloads"), filepath.Join(home, "Pictures"),
		filepath.Join("/media", filepath.Base(home)), filepath.Join("/run/media", filepath.Base(home)), "/Volumes"}
	if runtime.GOOS == "windows" {
		for drive := 'C'; drive <= 'Z'; drive++ {
			may = append(may, string(drive)+`:\`)
		}
	}
	for _, p := range may {
		if info, err := os.Stat(p); err == nil && info.IsDir() {
			others = append(others, p)
		}
	}
	return home, others
}
