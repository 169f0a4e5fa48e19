package wording

import "fmt"

// translate turns an English format into the language of the window. It is
// the identity until [Speak] is called, so that the command line stays English.
var translate = func(format string) string { return format }

// Speak makes [Say] use these translations: t returns the format in the
// language shown for an English one. Call it once, before the first text.
func Speak(t func(format string) string) { translate = t }

// Say returns a text of the window in the language shown. The English format
// is the key of its translation: whole sentences, because a translation may
// put the values in another order (%[2]s).
func Say(format string, values ...any) string {
	if len(values) == 0 {
		return translate(format)
	}
	return fmt.Sprintf(translate(format), values...)
}
