// Package tongue sets the language of the window: English, German, French or
// Spanish. Start with [Use]; [Preferred] is the one of the system.
//
// The translations are assets/translations/CODE.json, an object whose keys are
// the English texts and formats of package fmt as the code has them, found
// there as arguments of wording.Say and among the cautions that measure and
// imaging write. They go to the window toolkit's own translation package, and
// from it to package wording, which every text passes on its way to the screen.
//
// What is not translated: the command line, files, and the details of damaged
// files. Numbers get the language's decimal separator and dates its order from
// package wording.
package tongue

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/lang"

	"rootrule/app/wording"
	"rootrule/assets"
)

// Language is a language that the window speaks.
type Language struct {
	Code string // ISO 639-1
	Name string // in the language itself

	decimal, date string
}

// Languages are all languages, English first. Decimal separators and orders of
// dates are those of the Unicode CLDR (from memory).
var Languages = []Language{
	{"en", "English", "", ""},
	{"de", "Deutsch", ",", "02.01.2006"},
	{"fr", "Français", ",", "02/01/2006"},
	{"es", "Español", ",", "02/01/2006"},
}

// Preferred returns the code of the language that the system asks for, English
// if the window doesn't speak it.
func Preferred() string {
	code, _, _ := strings.Cut(lang.SystemLocale().LanguageString(), "-")
	if _, ok := find(code); ok {
		return code
	}
	return Languages[0].Code
}

func find(code string) (Language, bool) {
	i := slices.IndexFunc(Languages, func(l Language) bool { return l.Code == code })
	if i < 0 {
		return Language{}, false
	}
	return Languages[i], true
}

// Use makes the window speak the language of a code, and English if there is
// no such language. Call it before the window is built.
func Use(code string) error {
	l, ok := find(code)
	if !ok {
		l = Languages[0]
	}
	words, err := translations(l.Code)
	if err != nil {
		return err
	}
	if err := register(words, lang.SystemLocale()); err != nil {
		return fmt.Errorf("set the language %s: %w", l.Name, err)
	}
	wording.Speak(wording.Language{
		Format:  said(words),
		Formats: formats(words),
		Decimal: l.decimal,
		Date:    l.date,
	})
	return nil
}

// said asks the toolkit for every text once and keeps its answers: texts are
// asked for at each move of the mouse.
func said(words map[string]string) func(english string) string {
	answers := make(map[string]string, len(words))
	for english := range words {
		answers[english] = lang.L(english)
	}
	return func(english string) string {
		if t, ok := answers[english]; ok {
			return t
		}
		return english
	}
}

// translations returns the texts of a language by their English ones.
func translations(code string) (map[string]string, error) {
	words := map[string]string{}
	if code == Languages[0].Code {
		return words, nil
	}
	data, err := assets.Translations.ReadFile("translations/" + code + ".json")
	if err == nil {
		err = json.Unmarshal(data, &words)
	}
	if err != nil {
		return nil, fmt.Errorf("read the translations for %q: %w", code, err)
	}
	return words, nil
}

// register gives the texts to the toolkit as those of the system's language,
// because that is the one it speaks whatever the user has chosen here.
func register(words map[string]string, system fyne.Locale) error {
	if len(words) == 0 {
		return nil
	}
	data, err := json.Marshal(words)
	if err != nil {
		return err
	}
	return lang.AddTranslationsForLocale(data, system)
}

// formats are the texts with places for values.
func formats(words map[string]string) []string {
	return slices.Sorted(func(yield func(string) bool) {
		for f := range maps.Keys(words) {
			if strings.Contains(f, "%") && !yield(f) {
				return
			}
		}
	})
}
