package dicomfile

import (
	"errors"
	"path/filepath"
	"strconv"
	"testing"

	"rootrule/imaging/fault"
)

// peersFolder returns the folder of test files that Debian's python3-pydicom
// installs. Without it the test ends there: TestReference covers the same
// paths on files of this package.
func peersFolder(t *testing.T) string {
	t.Helper()
	folders, err := filepath.Glob("/usr/lib/python3*/*-packages/pydicom/data")
	if err != nil || len(folders) == 0 {
		t.Skip("python3-pydicom is not installed")
	}
	return folders[0]
}

// TestPeers compares samples with the SHA-256 in testdata/peers.tsv of what
// dcmtk 3.6.7, gdcm 3.0.21 and pydicom 2.3.1 decode.
func TestPeers(t *testing.T) {
	folder := peersFolder(t)
	for _, row := range readTSV(t, "testdata/peers.tsv") {
		t.Run(row["file"], func(t *testing.T) {
			f, err := Open(filepath.Join(folder, row["file"]))
			if err != nil {
				t.Fatal(err)
			}
			if got := strconv.Itoa(f.Frames); got != row["frames"] {
				t.Errorf("%s frames, want %s", got, row["frames"])
			}
			if got := digest(t, f); got != row["sha256"] {
				t.Errorf("samples differ from those of %s", row["decoders"])
			}
		})
	}
}

// TestPeersLossy compares a JPEG 2000 picture of the irreversible transform,
// where the last bit is free: the extremes agree with gdcm's and pydicom's, and
// the sum to within the 20 samples of 262144 that differ by 1.
func TestPeersLossy(t *testing.T) {
	f, err := Open(filepath.Join(peersFolder(t), "test_files/JPEG2000.dcm"))
	if err != nil {
		t.Fatal(err)
	}
	frame, err := f.Frame(0)
	if err != nil {
		t.Fatal(err)
	}
	low, high, sum := 0, 0, 0
	for _, v := range frame.Pix {
		n := int(int16(v))
		low, high, sum = min(low, n), max(high, n), sum+n
	}
	const wantSum = 3527976 // pydicom 2.3.1
	if low != -30 || high != 245 || sum < wantSum-20 || sum > wantSum+20 {
		t.Errorf("range %d to %d, sum %d; want -30 to 245, %d", low, high, sum, wantSum)
	}
}

// TestPeersRefused holds files that are no pictures, damaged, or of a kind that
// is not handled: each has its own kind of error.
func TestPeersRefused(t *testing.T) {
	folder := peersFolder(t)
	for name, want := range map[string]error{
		"JPEG2000-embedded-sequence-delimiter.dcm": fault.ErrMalformed,
		"MR_truncated.dcm":                         fault.ErrMalformed,
		"badVR.dcm":                                fault.ErrMalformed, // its number of frames is "1A"
		"rtplan_truncated.dcm":                     fault.ErrMalformed,
		"SC_rgb_rle_32bit.dcm":                     fault.ErrUnsupported,
		"SC_rgb_rle_32bit_2frame.dcm":              fault.ErrUnsupported,
		"rtdose.dcm":                               fault.ErrUnsupported, // 32 bits
		"rtdose_expb.dcm":                          fault.ErrUnsupported,
		"rtdose_rle.dcm":                           fault.ErrUnsupported,
		"ExplVR_BigEndNoMeta.dcm":                  fault.ErrUnsupported, // no pixels, here and below
		"ExplVR_LitEndNoMeta.dcm":                  fault.ErrUnsupported,
		"UN_sequence.dcm":                          fault.ErrUnsupported,
		"empty_charset_LEI.dcm":                    fault.ErrUnsupported,
		"meta_missing_tsyntax.dcm":                 fault.ErrMalformed, // pixels without rows and columns
		"nested_priv_SQ.dcm":                       fault.ErrMalformed, // the same
		"no_meta_group_length.dcm":                 fault.ErrUnsupported,
		"priv_SQ.dcm":                              fault.ErrUnsupported,
		"reportsi.dcm":                             fault.ErrUnsupported,
		"reportsi_with_empty_number_tags.dcm":      fault.ErrUnsupported,
		"rtplan.dcm":                               fault.ErrUnsupported,
		"rtstruct.dcm":                             fault.ErrUnsupported,
		"test-SR.dcm":                              fault.ErrUnsupported,
		"waveform_ecg.dcm":                         fault.ErrUnsupported,
	} {
		t.Run(name, func(t *testing.T) {
			f, err := Open(filepath.Join(folder, "test_files", name))
			if err == nil {
				_, err = f.Frame(0)
			}
			if !errors.Is(err, want) {
				t.Errorf("error %v, want %v", err, want)
			}
		})
	}
}
