package wording

import "testing"

// german speaks German until the test ends.
func german(t *testing.T) {
	t.Helper()
	words := map[string]string{
		"Trace canal":                  "Kanal nachzeichnen",
		"%s of %d":                     "%[2]d, davon %[1]s",
		"only %.1f mm of %s is left":   "von %[2]s bleiben nur %[1]s mm",
		"root filling":                 "Wurzelfüllung",
		"larger by more than 25 %% %s": "um mehr als 25 %% größer %s",
	}
	formats := make([]string, 0, len(words))
	for f := range words {
		formats = append(formats, f)
	}
	before := spoken
	t.Cleanup(func() { spoken = before })
	Speak(Language{Decimal: ",", Date: "02.01.2006", Formats: formats, Format: func(english string) string {
		if w, ok := words[english]; ok {
			return w
		}
		return english
	}})
}

func TestSayIsEnglishAtFirst(t *testing.T) {
	if got := Say("%s of %d", "two", 3); got != "two of 3" {
		t.Error(got)
	}
	if got := Number(-1.25, 2); got != "−1.25" {
		t.Error(got)
	}
	if got := Date("2026-03-09"); got != "2026-03-09" {
		t.Error(got)
	}
}

func TestSayInAnotherLanguage(t *testing.T) {
	german(t)
	for _, c := range []struct{ name, got, want string }{
		{"a text", Say("Trace canal"), "Kanal nachzeichnen"},
		{"values in another order", Say("%s of %d", "zwei", 3), "3, davon zwei"},
		{"no translation", Say("Undo"), "Undo"},
		{"a text made by a format", Tell("only 2.5 mm of root filling is left"), "von Wurzelfüllung bleiben nur 2,5 mm"},
		{"a per cent sign in a format", Tell("larger by more than 25 % here"), "um mehr als 25 % größer here"},
		{"part by part", Tell("Trace canal: only 2.5 mm of root filling is left; Undo"), "Kanal nachzeichnen: von Wurzelfüllung bleiben nur 2,5 mm; Undo"},
		{"a text of another format", Tell("only a joke"), "only a joke"},
		{"decimal comma", Number(20.35, 2), "20,35"},
		{"minus", Number(-0.5, 1), "−0,5"},
		{"date", Date("2026-03-09"), "09.03.2026"},
		{"not a date", Date("spring"), "spring"},
	} {
		if c.got != c.want {
			t.Errorf("%s: %q, want %q", c.name, c.got, c.want)
		}
	}
}
