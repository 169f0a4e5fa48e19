package dicomfile

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"github.com/suyashkumar/dicom/pkg/tag"

	"rootrule/imaging/fault"
)

// Scanned is what [Scan] found.
type Scanned struct {
	Series []Series
	// Skipped are the DICOM files that could not be read or are listed and
	// absent, each with its reason. Files of other kinds are not mentioned.
	Skipped []Skipped
}

// Skipped is a file left out and why.
type Skipped struct {
	Path string
	Err  error
}

type scannedFile struct {
	path string
	file *File
}

// Scan reads the headers of DICOM files and sorts their frames into series.
// Each path is a folder, which is searched with all folders in it, a DICOMDIR,
// whose files are read, or a single file. It is an error if a path can't be
// read or if there is no picture at all.
func Scan(paths ...string) (Scanned, error) {
	var out Scanned
	var files []string
	for _, path := range paths {
		found, skipped, err := filesAt(path)
		if err != nil {
			return out, err
		}
		files = append(files, found...)
		out.Skipped = append(out.Skipped, skipped...)
	}
	slices.Sort(files)
	read, skipped := readHeaders(slices.Compact(files))
	out.Skipped = append(out.Skipped, skipped...)
	out.Series = seriesOf(read)
	if len(out.Series) == 0 {
		return out, noPicture(paths, out.Skipped)
	}
	return out, nil
}

// noPicture says why nothing was found: the reason of the only file, or that
// there was none.
func noPicture(paths []string, skipped []Skipped) error {
	if len(skipped) > 0 {
		return skipped[0].Err
	}
	return fault.Unsupported("looking for DICOM pictures in %s: none was found: choose another folder", strings.Join(paths, ", "))
}

// filesAt returns the files that path stands for.
func filesAt(path string) (files []string, skipped []Skipped, err error) {
	stat, err := os.Stat(path)
	if err != nil {
		return nil, nil, err
	}
	if stat.IsDir() {
		err = filepath.WalkDir(path, func(p string, d fs.DirEntry, err error) error {
			if err != nil {
				skipped = append(skipped, Skipped{Path: p, Err: err})
				return nil
			}
			if d.Type().IsRegular() {
				files = append(files, p)
			}
			return nil
		})
		return files, skipped, err
	}
	if f, err := Open(path); err == nil && f.header.has(tag.DirectoryRecordSequence) {
		files, skipped = f.listed(path)
		return files, skipped, nil
	}
	return []string{path}, nil, nil
}

// listed returns the files that a DICOMDIR lists (PS3.3 F.3.2.2, PS3.10 8).
func (f *File) listed(path string) (files []string, skipped []Skipped) {
	root := filepath.Dir(path)
	for _, record := range f.header.items(tag.DirectoryRecordSequence) {
		id := record.texts(tag.ReferencedFileID)
		if len(id) == 0 {
			continue
		}
		file, err := listedPath(root, id)
		if err != nil {
			skipped = append(skipped, Skipped{Path: filepath.Join(id...), Err: err})
			continue
		}
		files = append(files, file)
	}
	return files, skipped
}

// listedPath finds a listed file below root. Names are listed in capitals, but
// a copied medium may have them in small letters.
func listedPath(root string, id []string) (string, error) {
	path := root
	for _, name := range id {
		if name == "" || name == "." || name == ".." || strings.ContainsAny(name, `/\:`) {
			return "", fault.Malformed("reading a DICOMDIR: %q is no name of a file on its medium", filepath.Join(id...))
		}
		next := filepath.Join(path, name)
		if _, err := os.Lstat(next); errors.Is(err, fs.ErrNotExist) {
			next = filepath.Join(path, strings.ToLower(name))
		}
		path = next
	}
	if _, err := os.Stat(path); err != nil {
		return "", fmt.Errorf("reading a DICOMDIR: a listed file is absent: %w", err)
	}
	return path, nil
}

// readHeaders opens files in parallel. What is no DICOM file, or one without a
// picture, is left out in silence; a damaged one is not.
func readHeaders(paths []string) (read []scannedFile, skipped []Skipped) {
	files := make([]*File, len(paths))
	errs := make([]error, len(paths))
	inParallel(len(paths), func(i int) { files[i], errs[i] = openIfDICOM(paths[i]) })
	for i, path := range paths {
		switch {
		case errs[i] != nil:
			skipped = append(skipped, Skipped{Path: path, Err: errs[i]})
		case files[i] != nil && files[i].missing == nil:
			read = append(read, scannedFile{path: path, file: files[i]})
		}
	}
	return read, skipped
}

// openIfDICOM opens a file, or returns nil for one of another kind.
func openIfDICOM(path string) (*File, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	head := make([]byte, 132)
	n, _ := f.Read(head)
	f.Close()
	if !Sniff(head[:n]) {
		return nil, nil
	}
	return Open(path)
}

// inParallel calls do for 0 to n−1 on all processors.
func inParallel(n int, do func(i int)) {
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			for i := next.Add(1) - 1; i < int64(n); i = next.Add(1) - 1 {
				do(int(i))
			}
		})
	}
	wg.Wait()
}
