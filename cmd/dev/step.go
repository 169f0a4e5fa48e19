package main

import (
	"fmt"
	"io"
	"time"
)

// printer shows the steps of a run and the time each took.
type printer struct {
	out   io.Writer
	now   func() time.Time
	start time.Time
}

func newPrinter(out io.Writer) *printer {
	return &printer{out: out, now: time.Now, start: time.Now()}
}

// step does one step: its name before, the time after it, with the note that
// do returns.
func (p *printer) step(name string, do func() (note string, err error)) error {
	fmt.Fprintf(p.out, "== %s\n", name)
	start := p.now()
	note, err := do()
	took := duration(p.now().Sub(start))
	if err != nil {
		fmt.Fprintf(p.out, "== %s: failed after %s\n", name, took)
		return fmt.Errorf("%s: %w", name, err)
	}
	if note != "" {
		note += ", "
	}
	fmt.Fprintf(p.out, "   %s%s\n", note, took)
	return nil
}

// total returns the time since the printer was made.
func (p *printer) total() string { return duration(p.now().Sub(p.start)) }

// duration writes a time as a person would read it.
func duration(d time.Duration) string {
	if d < time.Minute {
		return fmt.Sprintf("%.1f s", d.Seconds())
	}
	d = d.Round(time.Second)
	return fmt.Sprintf("%d min %02d s", d/time.Minute, d%time.Minute/time.Second)
}
