package wording

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Language is a language of the window.
type Language struct {
	// Format returns the text, or the format of package fmt, for an English one,
	// which is its key.
	Format func(english string) string
	// Formats are the English formats with values in them that have a
	// translation: [Tell] recognises what was made by one of them.
	Formats []string
	// Decimal is the decimal separator; empty stands for a point.
	Decimal string
	// Date is how a date is written, as package time lays it out; empty stands
	// for year-month-day.
	Date string
}

// spoken is the language of the window. It is English until [Speak] is called,
// so that the command line is always English.
var spoken = struct {
	Language
	made []madeBy
}{Language: Language{Format: func(english string) string { return english }}}

// madeBy recognises the texts that a format makes.
type madeBy struct {
	format string
	texts  *regexp.Regexp
}

// Speak sets the language of [Say], [Tell], [Number] and [Date]. Call it
// before the first text is shown.
func Speak(l Language) {
	spoken.Language, spoken.made = l, nil
	for _, f := range l.Formats {
		spoken.made = append(spoken.made, madeBy{f, textsOf(f)})
	}
	fixed := func(m madeBy) int { return len(verb.ReplaceAllString(m.format, "")) }
	slices.SortFunc(spoken.made, func(a, b madeBy) int { return fixed(b) - fixed(a) }) // what says most by itself first
}

// verb is a place for a value in a format of package fmt, or a per cent sign.
var verb = regexp.MustCompile(`%%|%(\[\d+\])?[-+#0]*\d*(\.\d+)?[a-zA-Z]`)

// textsOf matches the texts that a format makes: a number where the format has
// one, any text elsewhere.
func textsOf(format string) *regexp.Regexp {
	var b strings.Builder
	at := 0
	for _, v := range verb.FindAllStringIndex(format, -1) {
		b.WriteString(regexp.QuoteMeta(format[at:v[0]]))
		switch format[v[1]-1] {
		case '%':
			b.WriteString("%")
		case 'd', 'f', 'g':
			b.WriteString(`([-−+]?[\d.]+(?:e[-+]?\d+)?)`)
		default:
			b.WriteString("([^:;]+?)") // what colons and semicolons divide is told part by part
		}
		at = v[1]
	}
	return regexp.MustCompile("^" + b.String() + regexp.QuoteMeta(format[at:]) + "$")
}

// Say returns a text of the window in the language shown. The English format
// is the key of its translation: whole sentences, because a translation may
// put the values in another order (%[2]s).
func Say(format string, values ...any) string {
	if len(values) == 0 {
		return translate(format)
	}
	return fmt.Sprintf(translate(format), values...)
}

// ToSay marks a text in a table as one that [Say] is given later, so that it is
// found when translations are looked for. It returns the text as it is.
func ToSay(english string) string { return english }

func translate(english string) string { return spoken.Format(english) }

// Tell returns a finished English text, such as a caution of package measure,
// in the language shown: by its own translation, or by that of the format that
// made it, or part by part where colons and semicolons divide it. What has none
// stays English.
func Tell(text string) string {
	if t := translate(text); t != text || len(spoken.made) == 0 {
		return t
	}
	for _, m := range spoken.made {
		if found := m.texts.FindStringSubmatch(text); found != nil {
			values := make([]any, len(found)-1)
			for i, v := range found[1:] {
				values[i] = value(v)
			}
			return fmt.Sprintf(asTexts(translate(m.format)), values...)
		}
	}
	for _, between := range []string{"; ", ": "} {
		if first, rest, ok := strings.Cut(text, between); ok {
			return Tell(first) + between + Tell(rest)
		}
	}
	return text
}

// value is a value found in a text: a number, or a text to be told.
func value(v string) string {
	if _, err := strconv.ParseFloat(strings.Replace(v, "−", "-", 1), 64); err != nil || spoken.Decimal == "" {
		return Tell(v)
	}
	return strings.Replace(v, ".", spoken.Decimal, 1)
}

// asTexts makes every verb of a format take a text.
func asTexts(format string) string {
	return verb.ReplaceAllStringFunc(format, func(v string) string {
		if v == "%%" {
			return v
		}
		return verb.ReplaceAllString(v, "%${1}s")
	})
}

// Date shows a date given as year-month-day the way the language writes it.
func Date(date string) string {
	t, err := time.Parse(time.DateOnly, date)
	if err != nil || spoken.Language.Date == "" {
		return date
	}
	return t.Format(spoken.Language.Date)
}
