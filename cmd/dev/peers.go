package main

import (
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
)

// peersScript does the tasks with general-purpose libraries.
//
//go:embed peers.py
var peersScript []byte

// peerPackages are Debian's packages with the libraries; they are not
// installed by bench.
var peerPackages = []string{"python3-numpy", "python3-scipy", "python3-skimage", "python3-opencv", "python3-pydicom", "python3-gdcm", "dcmtk", "libgdcm-tools"}

// peers runs the tasks of the script in a folder.
type peers struct {
	folder, script string
	python         string
	missing        string // why none can run, empty if they can
}

// newPeers writes the script into the folder. Debian's libraries belong to
// Debian's Python, which needn't be the first on the path.
func newPeers(folder string) (*peers, error) {
	p := &peers{folder: folder, script: filepath.Join(folder, "peers.py"), python: "/usr/bin/python3"}
	if err := os.WriteFile(p.script, peersScript, 0o600); err != nil {
		return nil, err
	}
	if _, err := os.Stat(p.python); err != nil {
		p.missing = "not installed: apt-get install " + strings.Join(peerPackages, " ")
	}
	return p, nil
}

// prepare makes the inputs that the benchmarks read, and says why not.
func (p *peers) prepare() string {
	if p.missing != "" {
		return p.missing
	}
	_, err := p.call("prepare")
	return p.why(err)
}

// run runs one task.
func (p *peers) run(task string) timing {
	if p.missing != "" {
		return timing{note: p.missing}
	}
	out, err := p.call(task)
	if err != nil {
		return timing{note: p.why(err)}
	}
	var said struct {
		Library  string
		Seconds  float64
		MemoryMB float64 `json:"memory_mb"`
		Note     string
	}
	if err := json.Unmarshal(out, &said); err != nil {
		return timing{note: fmt.Sprintf("its answer can't be read: %v", err)}
	}
	return timing{said.Seconds, said.MemoryMB, strings.TrimSuffix(said.Library+", "+said.Note, ", ")}
}

func (p *peers) call(task string) ([]byte, error) {
	threads := fmt.Sprint(benchThreads)
	c := command([]string{"OMP_NUM_THREADS=" + threads, "OPENBLAS_NUM_THREADS=" + threads, "PYTHONDONTWRITEBYTECODE=1"}, p.python, p.script, p.folder, task)
	c.Stdout, c.Stderr = nil, nil
	return c.Output()
}

// why puts a script's failure into a line: the last one of what it said.
func (p *peers) why(err error) string {
	if err == nil {
		return ""
	}
	var exit *exec.ExitError
	if !errors.As(err, &exit) {
		return err.Error()
	}
	lines := strings.Split(strings.TrimSpace(string(exit.Stderr)), "\n")
	last := lines[len(lines)-1]
	if strings.Contains(last, "ModuleNotFoundError") || strings.Contains(last, "FileNotFoundError") {
		last += " (apt-get install " + strings.Join(peerPackages, " ") + ")"
	}
	return "did not run: " + last
}
