package wording

import (
	"testing"

	"rootrule/measure"
)

func TestReadDate(t *testing.T) {
	before := spoken
	t.Cleanup(func() { spoken = before })
	for _, c := range []struct {
		name, layout, typed, want string
		ok                        bool
	}{
		{"year first", "", "2026-03-31", "2026-03-31", true},
		{"year first in a language of its own form", "02.01.2006", " 2026-03-31 ", "2026-03-31", true},
		{"the language's form", "02.01.2006", "31.03.2026", "2026-03-31", true},
		{"another language's form", "02/01/2006", "31.03.2026", "", false},
		{"nothing", "02/01/2006", " ", "", true},
		{"no such day", "02/01/2006", "31/02/2026", "", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			spoken.Language.Date = c.layout
			if got, ok := ReadDate(c.typed); got != c.want || ok != c.ok {
				t.Errorf("ReadDate(%q) = %q, %v, want %q, %v", c.typed, got, ok, c.want, c.ok)
			}
		})
	}
}

func TestSubject(t *testing.T) {
	before, told := notation, spoken
	t.Cleanup(func() { notation, spoken = before, told })
	Speak(Language{Formats: []string{"canal %s"}, Format: func(s string) string {
		if s == "canal %s" {
			return "Kanal %s"
		}
		return s
	}})
	SetNotation(measure.Universal)
	for of, want := range map[string]string{"canal 46 ML": "Kanal 30 ML", "image": "image", "lesion 46 D": "lesion 30 D", "canal main": "Kanal main"} {
		if got := Subject(of); got != want {
			t.Errorf("Subject(%q) = %q, want %q", of, got, want)
		}
	}
}
