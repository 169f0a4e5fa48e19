package jpeg2000

import (
	"bytes"
	"encoding/binary"
	"errors"
	"runtime"
	"strings"
	"testing"
	"time"

	"rootrule/imaging/fault"
)

func TestDecodeSamples(t *testing.T) {
	for _, s := range samples(t) {
		t.Run(s.file, func(t *testing.T) {
			got, err := Decode(readFile(t, s.file))
			if err != nil {
				t.Fatal(err)
			}
			compare(t, got, reference(t, s), s.tolerance)
		})
	}
}

func TestReadHeader(t *testing.T) {
	for _, s := range samples(t) {
		h, err := ReadHeader(readFile(t, s.file))
		if err != nil {
			t.Fatalf("%s: %v", s.file, err)
		}
		if h.Width != s.width || h.Height != s.height || h.Components != s.components || h.Bits != s.bits || h.Signed != s.signed {
			t.Errorf("%s: header %+v", s.file, h)
		}
		if lossy := strings.Contains(s.file, "97"); h.Reversible == lossy {
			t.Errorf("%s: reversible %t", s.file, h.Reversible)
		}
		if rct := s.components >= 3 && !strings.Contains(s.options, "-mct 0"); h.ColourTransform != rct {
			t.Errorf("%s: colour transform %t", s.file, h.ColourTransform)
		}
		if ht := strings.HasPrefix(s.file, "ht_"); h.HighThroughput != ht {
			t.Errorf("%s: high throughput %t", s.file, h.HighThroughput)
		}
	}
}

// A stream that is cut anywhere is an error, even if only its end marker is
// missing.
func TestDecodeCut(t *testing.T) {
	for _, s := range samples(t) {
		data := readFile(t, s.file)
		step := max(1, len(data)/400) // the ends are covered byte by byte
		for n := 0; n < len(data); n++ {
			if n > 200 && n < len(data)-200 && n%step != 0 {
				continue
			}
			if r, err := Decode(data[:n]); r != nil || !errors.Is(err, fault.ErrMalformed) {
				t.Fatalf("%s cut to %d of %d bytes: %v", s.file, n, len(data), err)
			}
		}
	}
}

func TestDecodePadding(t *testing.T) {
	s := samples(t)[0]
	data := readFile(t, s.file)
	for name, padding := range map[string][]byte{"zero": {0}, "zeros": make([]byte, 100), "markers": {0xff, 0xd9, 0xff, 0xd9}} {
		got, err := Decode(append(bytes.Clone(data), padding...))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		compare(t, got, reference(t, s), 0)
	}
}

// The last tile-part may leave its length to the end marker (T.800 A.4.2).
func TestDecodeOpenLength(t *testing.T) {
	for _, s := range samples(t) {
		if strings.Contains(s.options, "-t") || strings.Contains(s.options, "-TP") || strings.Contains(s.options, "-POC") || strings.HasSuffix(s.file, ".jp2") {
			continue
		}
		data := bytes.Clone(readFile(t, s.file))
		clear(data[bytes.Index(data, []byte{0xff, 0x90})+6:][:4])
		got, err := Decode(append(data, 0))
		if err != nil {
			t.Fatalf("%s: %v", s.file, err)
		}
		compare(t, got, reference(t, s), s.tolerance)
	}
}

// patch returns grey8.j2k with bytes replaced at an offset from a marker.
func patch(t testing.TB, mark uint16, offset int, replace ...byte) []byte {
	t.Helper()
	data := bytes.Clone(readFile(t, "grey8.j2k"))
	at := bytes.Index(data, binary.BigEndian.AppendUint16(nil, mark))
	copy(data[at+offset:], replace)
	return data
}

func TestDecodeHostile(t *testing.T) {
	cases := []struct {
		name string
		data []byte
		want error
	}{
		{"empty", nil, fault.ErrMalformed},
		{"not a codestream", []byte("GIF89a, surely"), fault.ErrMalformed},
		{"JP2 without codestream", jp2Signature, fault.ErrMalformed},
		{"4 Gi × 4 Gi in one tile", patch(t, markSIZ, 6, bytes.Repeat([]byte{0xff}, 8)...), fault.ErrMalformed},
		{"60000 × 60000", patch(t, markSIZ, 6, 0, 0, 0xea, 0x60, 0, 0, 0xea, 0x60, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0xea, 0x60, 0, 0, 0xea, 0x60), fault.ErrUnsupported},
		{"16000 × 16000, all but empty", patch(t, markSIZ, 6, 0, 0, 0x3e, 0x80, 0, 0, 0x3e, 0x80, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0x3e, 0x80, 0, 0, 0x3e, 0x80), fault.ErrUnsupported},
		{"tiles of one pixel", patch(t, markSIZ, 22, 0, 0, 0, 1, 0, 0, 0, 1), fault.ErrMalformed},
		{"tile size zero", patch(t, markSIZ, 22, 0, 0, 0, 0), fault.ErrMalformed},
		{"image offset past its end", patch(t, markSIZ, 14, 0, 0, 1, 0), fault.ErrMalformed},
		{"tile offset past the image", patch(t, markSIZ, 30, 0, 0, 1, 0), fault.ErrMalformed},
		{"38 bits", patch(t, markSIZ, 40, 37), fault.ErrUnsupported},
		{"128 bits", patch(t, markSIZ, 40, 127), fault.ErrMalformed},
		{"sample distance zero", patch(t, markSIZ, 41, 0), fault.ErrMalformed},
		{"no components", patch(t, markSIZ, 38, 0, 0), fault.ErrMalformed},
		{"more components than described", patch(t, markSIZ, 38, 0x40, 0), fault.ErrMalformed},
		{"no layers", patch(t, markCOD, 6, 0, 0), fault.ErrMalformed},
		{"65535 layers", patch(t, markCOD, 6, 0xff, 0xff), fault.ErrMalformed},
		{"progression order 5", patch(t, markCOD, 5, 5), fault.ErrMalformed},
		{"component transform of one component", patch(t, markCOD, 8, 1), fault.ErrMalformed},
		{"33 decompositions", patch(t, markCOD, 9, 33), fault.ErrMalformed},
		{"32 decompositions without steps", patch(t, markCOD, 9, 32), fault.ErrMalformed},
		{"code-blocks of 2048", patch(t, markCOD, 10, 9), fault.ErrMalformed},
		{"wavelet 2", patch(t, markCOD, 13, 2), fault.ErrUnsupported},
		{"quantisation style 3", patch(t, markQCD, 4, 0x43), fault.ErrMalformed},
		{"Part 2 segment", patch(t, 0xff64, 0, 0xff, 0x74), fault.ErrUnsupported},
		{"no coding style", patch(t, markCOD, 0, 0xff, 0x64), fault.ErrMalformed},
		{"tile-part of another tile", patch(t, markSOT, 4, 0, 1), fault.ErrMalformed},
		{"second tile-part first", patch(t, markSOT, 10, 1), fault.ErrMalformed},
		{"tile-part longer than the file", patch(t, markSOT, 6, 0, 1, 0, 0), fault.ErrMalformed},
		{"tile-part shorter than its header", patch(t, markSOT, 6, 0, 0, 0, 13), fault.ErrMalformed},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) { checkHostile(t, c.data, c.want) })
	}
}

// checkHostile decodes damaged data and checks what the package promises of
// it: an error of the wanted kind, memory and time.
func checkHostile(t *testing.T, data []byte, want error) {
	t.Helper()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	start := time.Now()
	r, err := Decode(data)
	elapsed := time.Since(start)
	runtime.ReadMemStats(&after)
	if want != nil && (r != nil || !errors.Is(err, want)) {
		t.Errorf("error %v, want %v", err, want)
	}
	if err != nil && errors.Is(err, fault.ErrMalformed) == errors.Is(err, fault.ErrUnsupported) {
		t.Errorf("error %v has no kind", err)
	}
	if used, limit := after.TotalAlloc-before.TotalAlloc, uint64(64<<20+40*len(data)); used > limit {
		t.Errorf("allocated %d bytes for %d, limit %d", used, len(data), limit)
	}
	if elapsed > 20*time.Second { // a machine that does other things is no failure
		t.Errorf("took %v", elapsed)
	}
}

// Single bytes replaced anywhere give an error or an image, nothing else.
func TestDecodeDamaged(t *testing.T) {
	for _, s := range samples(t) {
		data := readFile(t, s.file)
		for i := 0; i < len(data); i += 1 + len(data)/100 {
			for _, flip := range []byte{0x01, 0x80} {
				bad := bytes.Clone(data)
				bad[i] ^= flip
				checkHostile(t, bad, nil)
			}
		}
	}
}
