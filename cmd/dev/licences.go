package main

import (
	"errors"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
)

// licences writes the licences of all modules that are built in, which most
// of them ask for.
func (r *release) licences() error {
	c := exec.Command("go", "list", "-deps", "-f", "{{with .Module}}{{if not .Main}}{{.Path}} {{.Version}}\t{{.Dir}}{{end}}{{end}}", "./cmd/rootrule")
	c.Env, c.Stderr = append(os.Environ(), cgo), os.Stderr
	out, err := c.Output()
	if err != nil {
		return err
	}
	folders := map[string]string{}
	for line := range strings.Lines(string(out)) {
		if name, dir, ok := strings.Cut(strings.TrimSpace(line), "\t"); ok {
			folders[name] = dir
		}
	}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return err
	}
	folders["Go's standard library"] = strings.TrimSpace(string(root))
	var text strings.Builder
	for _, name := range slices.Sorted(maps.Keys(folders)) {
		licence, err := licenceIn(folders[name])
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		fmt.Fprintf(&text, "==== %s\n\n%s\n\n", name, licence)
	}
	return r.write("licences.txt", text.String(), 0o644)
}

// licenceIn returns the text of a module's licence.
func licenceIn(folder string) (string, error) {
	var texts []string
	for _, pattern := range []string{"LICEN[SC]E*", "licen[sc]e*", "COPYING*", "NOTICE*"} {
		found, err := filepath.Glob(filepath.Join(folder, pattern))
		if err != nil {
			return "", err
		}
		for _, path := range found {
			text, err := os.ReadFile(path)
			if err != nil {
				continue // a folder of that name
			}
			texts = append(texts, strings.TrimSpace(string(text)))
		}
	}
	if len(texts) == 0 {
		return "", errors.New("it has no file with a licence: ask its authors before passing it on")
	}
	return strings.Join(texts, "\n\n"), nil
}
