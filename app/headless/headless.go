// Package headless is the command line: what the program does without a
// window. Start with [Run]. Each command is one file; its JSON is a promise to
// whoever scripts the program, and is described in the README.
//
// Errors are one line on the error stream, "rootrule: what was being done:
// what is wrong: what to do", and exit code 1; wrong usage is exit code 2.
// There is no stack trace, and no output file is left by a failed run. No
// command here imports the window toolkit.
package headless

import (
	"errors"
	"flag"
	"fmt"
	"io"

	"rootrule/app/wording"
)

// Exit codes.
const (
	exitOK     = 0
	exitFailed = 1
	exitUsage  = 2
)

// command is one word of the command line.
type command struct {
	name  string
	usage string // arguments
	does  string // one line for --help
	run   func(c *call) error
}

// call is one use of a command.
type call struct {
	flags  *flag.FlagSet
	args   []string
	out    io.Writer
	errOut io.Writer
}

// usageError is a wrong way to call a command.
type usageError struct{ text string }

func (e usageError) Error() string { return e.text }

func commands() []command {
	return []command{
		{"describe", "FILE|FOLDER [--json] [--identity]", "say what an image file or a series of slices is", describe},
		{"compute", "MARKS.json [--json]", "print the findings of a marks file", compute},
		{"pixels", "FILE --out OUT.png [--frame N]", "write the stored grey values as a 16-bit PNG", pixels},
		{"trace", "IMAGE|FOLDER --from X,Y[,Z] --to X,Y[,Z] [--via X,Y[,Z]]… [--bright] [--snap] [--json]", "find the centre line of a canal, or of a bright file, between two marks; in a volume in mm", traceLine},
		{"outline", "IMAGE|FOLDER --seed X,Y[,Z] [--json] [--surface OUT.stl]", "find the outline of a lesion from a point inside it (px), or its surface in a volume (mm)", outlineLesion},
		{"align", "BEFORE AFTER [--pairs PAIRS.json] [--model affine|projective] [--flip] [--subtract OUT.png] [--json]", "bring a later image into the frame of an earlier one, and subtract them", alignImages},
		{"demo", "--out FOLDER [--seed N]", "make the demo case: findings as a table, marked images as PNG", demo},
	}
}

// IsCommand reports whether args name a command of this package rather than
// images for the window.
func IsCommand(args []string) bool {
	if len(args) == 0 {
		return false
	}
	if isHelp(args[0]) {
		return true
	}
	_, ok := find(args[0])
	return ok
}

func isHelp(s string) bool { return s == "--help" || s == "-help" || s == "-h" || s == "help" }

func find(name string) (command, bool) {
	for _, c := range commands() {
		if c.name == name {
			return c, true
		}
	}
	return command{}, false
}

// Run carries out one command and returns the exit code.
func Run(args []string, out, errOut io.Writer) int {
	if len(args) == 0 || isHelp(args[0]) {
		printHelp(out)
		return exitOK
	}
	cmd, ok := find(args[0])
	if !ok {
		fmt.Fprintf(errOut, "rootrule: command %q: there is no such command: see rootrule --help\n", args[0])
		return exitUsage
	}
	err := cmd.call(args[1:], out, errOut)
	var wrong usageError
	switch {
	case err == nil:
		return exitOK
	case errors.Is(err, flag.ErrHelp):
		fmt.Fprintf(out, "usage: rootrule %s %s\n%s\n", cmd.name, cmd.usage, cmd.does)
		return exitOK
	case errors.As(err, &wrong):
		fmt.Fprintf(errOut, "rootrule: %s: %s: usage: rootrule %s %s\n", cmd.name, wrong.text, cmd.name, cmd.usage)
		return exitUsage
	}
	fmt.Fprintf(errOut, "rootrule: %s\n", wording.Line(err))
	return exitFailed
}

func (c command) call(args []string, out, errOut io.Writer) error {
	call := &call{flags: flag.NewFlagSet(c.name, flag.ContinueOnError), args: args, out: out, errOut: errOut}
	call.flags.SetOutput(io.Discard)
	return c.run(call)
}

// parse reads flags wherever they stand and returns the n other arguments.
func (c *call) parse(n int) ([]string, error) {
	var rest []string
	for args := c.args; ; {
		if err := c.flags.Parse(args); err != nil {
			if errors.Is(err, flag.ErrHelp) {
				return nil, err
			}
			return nil, usageError{err.Error()}
		}
		args = c.flags.Args()
		if len(args) == 0 {
			break
		}
		rest, args = append(rest, args[0]), args[1:]
	}
	if len(rest) != n {
		return nil, usageError{fmt.Sprintf("%d arguments given, %d needed", len(rest), n)}
	}
	return rest, nil
}

func printHelp(out io.Writer) {
	fmt.Fprint(out, "rootrule: measure root canals on radiographs\n\n"+
		"  rootrule                      open the window\n"+
		"  rootrule IMAGE…               open the window on these images\n"+
		"  rootrule --demo               open the window on the demo case\n")
	for _, c := range commands() {
		fmt.Fprintf(out, "\n  rootrule %s %s\n      %s\n", c.name, c.usage, c.does)
	}
	fmt.Fprint(out, "\nThe window takes --casebook FILE for another casebook than the usual one.\n")
}
