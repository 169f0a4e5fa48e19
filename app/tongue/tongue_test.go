package tongue

import (
	"encoding/json"
	"maps"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"rootrule/app/wording"
)

// verbs are the places for values in a format.
var verbs = regexp.MustCompile(`%%|%(\[\d+\])?[-+#0]*\d*(\.\d+)?[a-zA-Z]`)

// TestTranslationsAreComplete: each language has a translation of each text,
// and of nothing else. With ROOTRULE_MISSING set to a folder, what is missing is
// written there, CODE.json for each language, ready to be filled in.
func TestTranslationsAreComplete(t *testing.T) {
	all := texts(t)
	for _, l := range Languages[1:] {
		t.Run(l.Name, func(t *testing.T) {
			words, err := translations(l.Code)
			if err != nil {
				t.Fatal(err)
			}
			missing := map[string]string{}
			for s, where := range all {
				if words[s] == "" {
					missing[s] = where
					t.Errorf("%s: %q has no translation", where, s)
				}
			}
			for s := range words {
				if _, ok := all[s]; !ok {
					t.Errorf("%q is translated but said nowhere", s)
				}
			}
			writeMissing(t, l.Code, missing)
		})
	}
}

func writeMissing(t *testing.T, code string, missing map[string]string) {
	folder := os.Getenv("ROOTRULE_MISSING")
	if folder == "" {
		return
	}
	data, err := json.MarshalIndent(missing, "", " ")
	if err == nil {
		err = os.WriteFile(folder+"/"+code+".json", data, 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// TestTranslationsTakeTheSameValues: the places for values are those of the
// English format, in whatever order.
func TestTranslationsTakeTheSameValues(t *testing.T) {
	for _, l := range Languages[1:] {
		words, err := translations(l.Code)
		if err != nil {
			t.Fatal(err)
		}
		for english, translated := range words {
			if a, b := places(english), places(translated); !maps.Equal(a, b) {
				t.Errorf("%s: %q takes %v, %q takes %v", l.Name, english, a, translated, b)
			}
			if strings.TrimSpace(translated) != translated && strings.TrimSpace(english) == english {
				t.Errorf("%s: %q begins or ends with a space", l.Name, translated)
			}
		}
	}
}

// places returns the verb of each value by its number, counted from 1.
func places(format string) map[int]string {
	found, next := map[int]string{}, 1
	for _, m := range verbs.FindAllStringSubmatch(format, -1) {
		if m[0] == "%%" {
			continue
		}
		n := next
		if m[1] != "" {
			n = int(m[1][1] - '0')
		}
		found[n] = strings.Replace(m[0], m[1], "", 1)
		next = n + 1
	}
	return found
}

// TestUse: every text and format arrives through the toolkit's translations.
func TestUse(t *testing.T) {
	t.Cleanup(func() { wording.Speak(wording.Language{Format: func(s string) string { return s }}) })
	for _, l := range Languages {
		if err := Use(l.Code); err != nil {
			t.Fatal(err)
		}
		words, err := translations(l.Code)
		if err != nil {
			t.Fatal(err)
		}
		for english, translated := range words {
			if got := wording.Say(english); got != translated {
				t.Fatalf("%s: %q is said as %q, want %q", l.Name, english, got, translated)
			}
		}
		if got := wording.Number(1.5, 1); l.decimal != "" && !strings.Contains(got, l.decimal) {
			t.Errorf("%s: 1.5 is shown as %q", l.Name, got)
		}
	}
	if err := Use("xx"); err != nil || wording.Number(1.5, 1) != "1.5" {
		t.Errorf("a language that the window doesn't speak: %v", err)
	}
}

func TestPreferred(t *testing.T) {
	if !slices.ContainsFunc(Languages, func(l Language) bool { return l.Code == Preferred() }) {
		t.Errorf("the system's language %q is none of the window's", Preferred())
	}
}
