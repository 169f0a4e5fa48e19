package headless

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"rootrule/app/wording"
	"rootrule/imaging"
)

// describe says what an image file or a folder of slices is.
func describe(c *call) error {
	asJSON := c.flags.Bool("json", false, "print JSON")
	identity := c.flags.Bool("identity", false, "show the patient's identity too")
	args, err := c.parse(1)
	if err != nil {
		return err
	}
	d, err := imaging.Describe(args[0])
	if err != nil {
		return err
	}
	if *identity {
		if d.Identity, err = imaging.Identify(args[0]); err != nil {
			return err
		}
	}
	if *asJSON {
		return writeJSON(c.out, d)
	}
	return writeLines(c.out, wording.Describe(d))
}

// writeLines prints a two-column table.
func writeLines(out io.Writer, lines [][2]string) error {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for _, l := range lines {
		fmt.Fprintf(w, "%s\t%s\n", l[0], strings.ReplaceAll(l[1], "\n", " "))
	}
	return w.Flush()
}
