//go:build !unix

package main

import (
	"os"
	"os/exec"
)

// peakMB is the most memory that a process had: not known here.
func peakMB(*os.ProcessState) float64 { return 0 }

// ownGroup has no counterpart here.
func ownGroup(*exec.Cmd) {}

// endGroup ends a program.
func endGroup(c *exec.Cmd) {
	_ = c.Process.Kill()
}
