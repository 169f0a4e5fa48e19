package dicomfile

import (
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

// digest returns the SHA-256 of a file's samples as the corpus defines it:
// little endian, frame after frame, in the width of bits allocated, interleaved,
// signs extended.
func digest(t *testing.T, f *File) string {
	t.Helper()
	h := sha256.New()
	for i := range f.Frames {
		frame, err := f.Frame(i)
		if err != nil {
			t.Fatalf("frame %d: %v", i, err)
		}
		h.Write(sampleBytes(frame.Pix, f.BitsAllocated))
	}
	return hex.EncodeToString(h.Sum(nil))
}

func sampleBytes(pix []uint16, allocated int) []byte {
	var b []byte
	for _, v := range pix {
		b = append(b, byte(v))
		if allocated > 8 {
			b = append(b, byte(v>>8))
		}
	}
	return b
}

// TestCorpus reads every file of the folder that ROOTRULE_CORPUS names, whose
// MANIFEST.tsv gives the SHA-256 of the samples that dcmtk, gdcm and pydicom
// agree on; the lossy ones are decoded to the last bit too. Without the folder,
// TestReference covers the same paths on files of this package.
func TestCorpus(t *testing.T) {
	folder := os.Getenv("ROOTRULE_CORPUS")
	if folder == "" {
		return
	}
	for _, row := range readTSV(t, filepath.Join(folder, "MANIFEST.tsv")) {
		t.Run(row["file"], func(t *testing.T) {
			f, err := Open(filepath.Join(folder, row["file"]))
			if err != nil {
				t.Fatal(err)
			}
			if got := strconv.Itoa(f.Frames); got != row["frames"] {
				t.Errorf("%s frames, want %s", got, row["frames"])
			}
			if got := digest(t, f); got != row["sha256_truth"] {
				t.Errorf("samples differ from the truth (%s)", row["ts"])
			}
		})
	}
}

// readTSV reads a table with a head line into one map a row.
func readTSV(t *testing.T, path string) []map[string]string {
	t.Helper()
	in, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	r := csv.NewReader(in)
	r.Comma, r.LazyQuotes = '\t', true
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, row := range rows[1:] {
		m := make(map[string]string)
		for i, name := range rows[0] {
			m[name] = row[i]
		}
		out = append(out, m)
	}
	return out
}
