//go:build unix

package main

import (
	"os"
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
