package wording

import (
	"errors"
	"io/fs"
	"strings"
	"syscall"
	"unicode"

	"rootrule/imaging/fault"
)

// Error turns an error into a line that says what is wrong and a hint of what
// to do, as sentences. Errors are written as "what was being done: what is
// wrong: what to do"; the last part becomes the hint.
func Error(err error) (line, hint string) {
	line, hint = err.Error(), systemHint(err)
	if i := strings.LastIndex(line, ": "); hint == "" && i > 0 {
		line, hint = line[:i], line[i+2:]
	}
	return Sentence(Tell(prefix(err) + line)), Sentence(Tell(hint))
}

// Line is an error on one line, for a terminal: as written, with a hint where
// the operating system's error has none.
func Line(err error) string {
	line := strings.ReplaceAll(strings.TrimSpace(err.Error()), "\n", "; ")
	if hint := systemHint(err); hint != "" {
		line += ": " + hint
	}
	return line
}

// systemHint says what to do about an error of the operating system.
func systemHint(err error) string {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "check the name, that the file is still there and that its drive is connected"
	case errors.Is(err, fs.ErrPermission):
		return "ask whoever looks after the computer for the right to use it"
	case errors.Is(err, syscall.ENOSPC):
		return "the disk is full: make room and try again"
	}
	return ""
}

// prefix names the kind of a file's fault in front of its line.
func prefix(err error) string {
	switch {
	case errors.Is(err, fault.ErrMalformed):
		return "damaged file: "
	case errors.Is(err, fault.ErrUnsupported):
		return "kind of file not handled: "
	}
	return ""
}

// Sentence makes the first letter a capital and ends with a full stop.
func Sentence(s string) string {
	if s == "" {
		return ""
	}
	r := []rune(s)
	r[0] = unicode.ToUpper(r[0])
	if last := r[len(r)-1]; !strings.ContainsRune(".!?", last) {
		r = append(r, '.')
	}
	return string(r)
}

// Safety are the cautions shown in the window and on every report.
var Safety = []string{
	"Measurements support the judgement of a licensed clinician and don't replace it.",
	"Confirm a radiographic length with an apex locator and a working-length radiograph.",
	"Expose as low as diagnostically acceptable, by the local radiation rules; never expose only to feed a measurement.",
	"A two-dimensional image hides depth: curves toward or away from the detector look straighter than they are.",
	"Grey values of cone-beam volumes are not Hounsfield units.",
	"This is not a certified medical device.",
}
