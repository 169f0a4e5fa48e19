package main

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"text/tabwriter"
)

// comparison is one task that the program and a general-purpose library do on
// the same data.
type comparison struct {
	task      string
	pkg       string // of the benchmark
	benchmark string
	peer      string // task of peers.py
}

// comparisons are shown in this order.
var comparisons = []comparison{
	{"least-cost path, 1500×1000", "./imaging/trace", "BenchmarkPath1500x1000", "path2d"},
	{"least-cost path, 300³", "./imaging/trace", "BenchmarkPath300Cubed", "path3d"},
	{"ridge filter, 5 widths, 1500×1000", "./imaging/trace", "BenchmarkVesselness1500x1000", "ridges2d"},
	{"ridge filter, 5 widths, 256³", "./imaging/trace", "BenchmarkVesselness256Cubed", "ridges3d"},
	{"lesion outline, 2000×1500", "./imaging/outline", "BenchmarkLesion2000x1500", "lesion2d"},
	{"lesion volume, 256³", "./imaging/outline", "BenchmarkVolume256Cubed", "lesion3d"},
	{"registration, affine, 1500×1000", "./imaging/align", "BenchmarkAffine1500x1000", "affine"},
	{"registration, projective, 1500×1000", "./imaging/align", "BenchmarkProjective1500x1000", "projective"},
	{"registration, lesion changed", "./imaging/align", "BenchmarkChanged1500x1000", "changed"},
	{"local contrast, 2000×1500", "./imaging/tone", "BenchmarkLocalContrast2000x1500", "contrast"},
	{"sharpening, 2000×1500", "./imaging/tone", "BenchmarkSharpen2000x1500", "sharpen"},
	{"JPEG lossless, 2000×1500", "./imaging/dicomfile", "BenchmarkDecodeJPEGLossless", "ljpeg"},
	{"JPEG-LS, 2000×1500", "./imaging/dicomfile", "BenchmarkDecodeJPEGLS", "jls"},
	{"RLE, 2000×1500", "./imaging/dicomfile", "BenchmarkDecodeRLE", "rle"},
	{"JPEG 2000, 2000×1500", "./imaging/dicomfile", "BenchmarkDecodeJPEG2000", "j2k"},
}

// alone are the benchmarks that nothing is compared with.
var alone = []comparison{
	{"canal, two clicks, 2000×1500", "./imaging/trace", "BenchmarkCanal2000x1500", ""},
	{"canal, a step of a drag, 2000×1500", "./imaging/trace", "BenchmarkLiveStep2000x1500", ""},
	{"outline, a step of a drag, 2000×1500", "./imaging/outline", "BenchmarkCorrected2000x1500", ""},
	{"all findings of a case", "./measure", "BenchmarkCompute", ""},
	{"series of 400 slices of 512×512", "./imaging/dicomfile", "BenchmarkSeries", ""},
}

// benchThreads is how many threads each side may use: one, so that the ratio
// doesn't depend on the number of cores.
const benchThreads = 1

// bench runs the benchmarks and, where they are installed, the same tasks by
// general-purpose libraries on the same data, and prints the ratios. A pattern
// chooses among the tasks.
func bench(p *printer, args []string) error {
	if len(args) > 1 {
		return fmt.Errorf("bench takes one pattern, not %d", len(args))
	}
	chosen, err := regexp.Compile(strings.Join(args, ""))
	if err != nil {
		return fmt.Errorf("bench: the pattern: %w", err)
	}
	folder, err := os.MkdirTemp("", "rootrule-bench")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	b := benchRun{p: p, folder: folder, programs: map[string]string{}}
	if b.peers, err = newPeers(folder); err != nil {
		return err
	}
	b.prepare()
	for _, c := range append(append([]comparison{}, comparisons...), alone...) {
		if chosen.MatchString(c.task) {
			if err := b.compare(c); err != nil {
				return err
			}
		}
	}
	return b.print()
}

// benchRun is one run: its programs, and the rows of the table so far.
type benchRun struct {
	p        *printer
	folder   string
	programs map[string]string // test program by package
	peers    *peers
	rows     []row
}

// row is a line of the table. A side that did not run says why in its note.
type row struct {
	task       string
	ours, peer timing
}

// timing is what one side needed.
type timing struct {
	seconds  float64 // 0: it did not run
	memoryMB float64
	note     string
}

// prepare makes the compressed files that both sides read.
func (b *benchRun) prepare() {
	if why := b.peers.prepare(); why != "" {
		fmt.Fprintln(b.p.out, "the peers' inputs:", why)
	}
}

// compare runs both sides of a comparison, ours first: it leaves the data.
func (b *benchRun) compare(c comparison) error {
	return b.p.step(c.task, func() (string, error) {
		r := row{task: c.task}
		var err error
		if r.ours, err = b.ours(c); err != nil {
			return "", err
		}
		if c.peer != "" {
			r.peer = b.peers.run(c.peer)
		}
		b.rows = append(b.rows, r)
		return "", nil
	})
}

// ours runs one benchmark in a process of its own.
func (b *benchRun) ours(c comparison) (timing, error) {
	program, err := b.program(c.pkg)
	if err != nil {
		return timing{}, err
	}
	abs, err := filepath.Abs(c.pkg)
	if err != nil {
		return timing{}, err
	}
	run := command([]string{"ROOTRULE_INPUTS=" + b.folder, fmt.Sprintf("GOMAXPROCS=%d", benchThreads)}, program,
		"-test.run", "^$", "-test.bench", "^"+c.benchmark+"$", "-test.benchtime", "1s")
	run.Dir, run.Stdout = abs, nil
	out, err := run.Output()
	if err != nil {
		return timing{}, fmt.Errorf("%s: %w\n%s", c.benchmark, err, out)
	}
	t, err := parseBenchmark(string(out), c.benchmark)
	t.memoryMB = peakMB(run.ProcessState)
	return t, err
}

// program builds the tests of a package, once.
func (b *benchRun) program(pkg string) (string, error) {
	if path, ok := b.programs[pkg]; ok {
		return path, nil
	}
	path := filepath.Join(b.folder, strings.ReplaceAll(filepath.Base(pkg), ".", "")+".test")
	err := command([]string{noCgo}, "go", "test", "-buildvcs=false", "-c", "-o", path, pkg).Run()
	b.programs[pkg] = path
	return path, err
}

// print shows the table.
func (b *benchRun) print() error {
	fmt.Fprintf(b.p.out, "\nOne thread each, the same data, in one run. Memory: ours is the whole process, the peer's what the call adds.\n\n")
	w := tabwriter.NewWriter(b.p.out, 0, 8, 2, ' ', 0)
	fmt.Fprintln(w, "task\tours\tpeer\tours/peer\tMB\tpeer MB\tours says\tpeer says")
	for _, r := range b.rows {
		fmt.Fprintln(w, strings.Join(r.cells(), "\t"))
	}
	return w.Flush()
}

func (r row) cells() []string {
	ratio := ""
	if r.ours.seconds > 0 && r.peer.seconds > 0 {
		ratio = fmt.Sprintf("%.2f", r.ours.seconds/r.peer.seconds)
	}
	return []string{r.task, r.ours.time(), r.peer.time(), ratio, r.ours.memory(), r.peer.memory(), r.ours.note, r.peer.note}
}

// time is written with three digits.
func (t timing) time() string {
	switch {
	case t.seconds == 0:
		return "–"
	case t.seconds < 1e-3:
		return fmt.Sprintf("%.3g µs", t.seconds*1e6)
	case t.seconds < 1:
		return fmt.Sprintf("%.3g ms", t.seconds*1e3)
	}
	return fmt.Sprintf("%.3g s", t.seconds)
}

func (t timing) memory() string {
	if t.memoryMB == 0 {
		return "–"
	}
	return fmt.Sprintf("%.0f", t.memoryMB)
}

// parseBenchmark reads the line of one benchmark as go test writes it: name,
// runs, then values and their units. What isn't time is a note.
func parseBenchmark(out, name string) (timing, error) {
	for line := range strings.Lines(out) {
		f := strings.Fields(line)
		if len(f) < 4 || strings.SplitN(f[0], "-", 2)[0] != name {
			continue
		}
		return parseValues(f[2:])
	}
	if strings.Contains(out, "no tests to run") || !strings.Contains(out, name) {
		return timing{note: "not run: its input is missing"}, nil
	}
	return timing{}, fmt.Errorf("%s: no result in %q", name, out)
}

func parseValues(f []string) (timing, error) {
	var t timing
	var notes []string
	for i := 0; i+1 < len(f); i += 2 {
		var v float64
		if _, err := fmt.Sscan(f[i], &v); err != nil {
			return t, fmt.Errorf("reading the benchmark's %q: %w", f[i], err)
		}
		switch f[i+1] {
		case "ns/op":
			t.seconds = v / 1e9
		case "MB/s", "B/op", "allocs/op": // told by the time and the memory
		default:
			notes = append(notes, f[i]+" "+f[i+1])
		}
	}
	t.note = strings.Join(notes, ", ")
	return t, nil
}
