package headless

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"rootrule/app/reading"
	"rootrule/app/wording"
	"rootrule/measure"
)

// compute prints the findings of a marks file.
func compute(c *call) error {
	asJSON := c.flags.Bool("json", false, "print JSON")
	args, err := c.parse(1)
	if err != nil {
		return err
	}
	findings, missing, err := reading.File(args[0])
	if err != nil {
		return err
	}
	for _, m := range missing {
		fmt.Fprintf(c.errOut, "rootrule: note: %s\n", wording.Line(m))
	}
	if *asJSON {
		return writeJSON(c.out, measure.EncodeFindings(findings))
	}
	return writeTable(c.out, findings)
}

// writeTable prints findings as a table with their ±, verdicts and cautions.
func writeTable(out io.Writer, findings []measure.Finding) error {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "image\tof\tfinding\tvalue\tverdict\tcautions")
	for _, f := range findings {
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\n", f.Image, f.Of, wording.Label(f.What), wording.Quantity(f.Quantity), wording.Verdict(f), strings.Join(f.Cautions, "; "))
	}
	return w.Flush()
}

// writeJSON prints v as indented JSON.
func writeJSON(out io.Writer, v any) error {
	e := json.NewEncoder(out)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	return e.Encode(v)
}
