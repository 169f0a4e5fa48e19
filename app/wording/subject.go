package wording

import (
	"strings"
	"time"
)

// Subject shows what a finding is about, given as package measure names it,
// "canal 46 ML": the kind in the language of the window, the tooth in the
// chosen notation.
func Subject(of string) string {
	kind, rest, ok := strings.Cut(of, " ")
	if !ok {
		return Tell(of)
	}
	tooth, name, named := strings.Cut(rest, " ")
	if rest = Tooth(tooth); named {
		rest += " " + name
	}
	return Tell(kind + " " + rest)
}

// ReadDate reads a date typed as year-month-day or the way the language writes
// it, and returns it as year-month-day; nothing typed is no date. It reports
// whether the text is a date.
func ReadDate(text string) (date string, ok bool) {
	if text = strings.TrimSpace(text); text == "" {
		return "", true
	}
	for _, layout := range []string{time.DateOnly, spoken.Language.Date} {
		if t, err := time.Parse(layout, text); err == nil && layout != "" {
			return t.Format(time.DateOnly), true
		}
	}
	return "", false
}
