// Package inputs lets a benchmark and a general-purpose library work on the
// same data in one run: a benchmark leaves what it works on in a folder
// ([Leave]) or takes what the other side has left there ([Path]). The folder is
// named by the environment variable ROOTRULE_INPUTS; without it nothing is
// written and nothing found, so that a benchmark by itself works as ever.
//
// A file is NAME.npy, NumPy's own form (version 1.0, little endian, C order),
// which most numeric libraries read. Only tests use this package.
package inputs

import (
	"encoding/binary"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Folder is the environment variable that names the folder.
const Folder = "ROOTRULE_INPUTS"

// types are NumPy's names of the element types.
func typeOf(values any) string {
	switch values.(type) {
	case []uint8:
		return "|u1"
	case []uint16:
		return "<u2"
	case []int16:
		return "<i2"
	case []float32:
		return "<f4"
	case []float64:
		return "<f8"
	}
	panic(fmt.Sprintf("inputs: no file form for %T", values))
}

// Leave writes values ([]uint8, []uint16, []int16, []float32 or []float64) as
// an array of the shape (slowest axis first) to NAME.npy.
func Leave(tb testing.TB, name string, values any, shape ...int) {
	tb.Helper()
	folder := os.Getenv(Folder)
	if folder == "" {
		return
	}
	f, err := os.Create(filepath.Join(folder, name+".npy"))
	if err != nil {
		tb.Fatal(err)
	}
	_, err = f.WriteString(header(typeOf(values), shape))
	if err == nil {
		err = binary.Write(f, binary.LittleEndian, values)
	}
	if err2 := f.Close(); err == nil {
		err = err2
	}
	if err != nil {
		tb.Fatal(err)
	}
}

// header is that of NumPy's file form, padded to a multiple of 64 bytes
// (numpy.lib.format, version 1.0).
func header(kind string, shape []int) string {
	axes := strings.Trim(strings.Join(strings.Fields(fmt.Sprint(shape)), ", "), "[]")
	text := fmt.Sprintf("{'descr': '%s', 'fortran_order': False, 'shape': (%s,), }", kind, axes)
	const before = 10 // magic, version, length
	text += strings.Repeat(" ", 63-(before+len(text))%64) + "\n"
	return "\x93NUMPY\x01\x00" + string(binary.LittleEndian.AppendUint16(nil, uint16(len(text)))) + text
}

// Path returns the path of a file that the other side has left, or skips the
// benchmark.
func Path(tb testing.TB, name string) string {
	tb.Helper()
	path := filepath.Join(os.Getenv(Folder), name)
	if _, err := os.Stat(path); os.Getenv(Folder) == "" || err != nil {
		tb.Skipf("%s has no %s: run by go run ./cmd/dev bench", Folder, name)
	}
	return path
}
