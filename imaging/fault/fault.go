// Package fault names what can be wrong with a file that somebody hands the
// program. Every decoder under imaging returns its errors through it, so that
// a screen can tell a damaged file from a kind of file that is not handled,
// and say which of the two it is in a sentence a clinician can act on.
//
// Use [Malformed] when the bytes break the rules of their own format (cut
// short, inconsistent, impossible sizes) and [Unsupported] when they follow
// rules that the program does not implement. Test with errors.Is against
// [ErrMalformed] and [ErrUnsupported].
//
// The package holds no wording of its own: the caller says what was being
// read, what is wrong, and what to do.
package fault

import (
	"errors"
	"fmt"
)

var (
	// ErrMalformed marks a damaged file: the likely cause is a copy that was
	// cut short or changed on its way; exporting it again usually helps.
	ErrMalformed = errors.New("damaged file")
	// ErrUnsupported marks an intact file of a kind that is not handled:
	// exporting it as PNG, TIFF or uncompressed DICOM usually helps.
	ErrUnsupported = errors.New("kind of file not handled")
)

type fault struct {
	kind error
	text string
	err  error
}

func (f *fault) Error() string {
	return f.text
}

func (f *fault) Is(target error) bool { return target == f.kind }
func (f *fault) Unwrap() error        { return f.err }

// Malformed returns an error that matches [ErrMalformed]. The format follows
// fmt.Errorf, %w included.
func Malformed(format string, args ...any) error { return newFault(ErrMalformed, format, args) }

// Unsupported returns an error that matches [ErrUnsupported]. The format
// follows fmt.Errorf, %w included.
func Unsupported(format string, args ...any) error { return newFault(ErrUnsupported, format, args) }

func newFault(kind error, format string, args []any) error {
	wrapped := fmt.Errorf(format, args...)
	return &fault{kind: kind, text: wrapped.Error(), err: errors.Unwrap(wrapped)}
}
