//go:build unix

package main

import (
	"os"
	"os/exec"
	"runtime"
	"syscall"
)

// peakMB is the most memory that a process had, in MB; 0 when it isn't known.
func peakMB(s *os.ProcessState) float64 {
	usage, ok := s.SysUsage().(*syscall.Rusage)
	if !ok {
		return 0
	}
	if runtime.GOOS == "darwin" {
		return float64(usage.Maxrss) / (1 << 20) // bytes there
	}
	return float64(usage.Maxrss) / (1 << 10) // kilobytes, getrusage(2)
}

// ownGroup makes a program, when started, the first of a group of processes.
func ownGroup(c *exec.Cmd) { c.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} }

// endGroup ends a program and all that it has started.
func endGroup(c *exec.Cmd) {
	_ = syscall.Kill(-c.Process.Pid, syscall.SIGKILL)
}
