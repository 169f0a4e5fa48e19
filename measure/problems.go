package measure

import (
	"fmt"
	"strings"
)

// Problem is one thing that is wrong with a marks file: where it stands, as a
// JSON path such as images[0].canals[1].marks[2], and what is wrong.
type Problem struct {
	Path string
	What string
}

// String returns "path: what".
func (p Problem) String() string {
	if p.Path == "" {
		return p.What
	}
	return p.Path + ": " + p.What
}

// Problems is the error that [DecodeMarks] and [Marks.Validate] return: all
// that is wrong, in the order of the file.
type Problems []Problem

// Error lists the problems, separated by semicolons.
func (p Problems) Error() string {
	lines := make([]string, len(p))
	for i, q := range p {
		lines[i] = q.String()
	}
	return strings.Join(lines, "; ")
}

// asError returns nil for no problems.
func (p Problems) asError() error {
	if len(p) == 0 {
		return nil
	}
	return p
}

func (p *Problems) add(path, format string, args ...any) {
	*p = append(*p, Problem{path, fmt.Sprintf(format, args...)})
}
