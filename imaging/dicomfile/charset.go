package dicomfile

import (
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/japanese"
	"golang.org/x/text/encoding/korean"
	"golang.org/x/text/encoding/simplifiedchinese"
)

// decoder turns the text of a data set into UTF-8 by its Specific Character
// Set (PS3.3 C.12.1.1.2, PS3.5 section 6.1 and annexes H to K).
type decoder struct {
	// whole decodes a value as one piece: for character sets that stand alone.
	whole encoding.Encoding
	// initial is the upper half (G1) at the start of each value where code
	// extensions may switch (ISO 2022).
	initial encoding.Encoding
	extends bool
	utf8    bool
}

// singleByte are the character sets with one byte a character, by the number
// of their ISO registration, as in "ISO_IR 100" and "ISO 2022 IR 100"
// (PS3.3 tables C.12-2 and C.12-3). ISO-IR 13 is JIS X 0201, whose two halves
// are the single-byte part of Shift JIS; 166 is TIS 620.
var singleByte = map[string]encoding.Encoding{
	"13":  japanese.ShiftJIS,
	"100": charmap.ISO8859_1,
	"101": charmap.ISO8859_2,
	"109": charmap.ISO8859_3,
	"110": charmap.ISO8859_4,
	"126": charmap.ISO8859_7,
	"127": charmap.ISO8859_6,
	"138": charmap.ISO8859_8,
	"144": charmap.ISO8859_5,
	"148": charmap.ISO8859_9,
	"166": charmap.Windows874,
	"203": charmap.ISO8859_15,
}

// newDecoder reads a value of Specific Character Set. A term it does not know
// counts as absent: text is then taken for UTF-8 where it is valid, else for
// ISO 8859-1, which loses nothing.
func newDecoder(terms string) decoder {
	list := strings.Split(terms, `\`)
	first := strings.Trim(list[0], " \x00")
	switch first {
	case "ISO_IR 192":
		return decoder{utf8: true}
	case "GB18030", "GBK":
		return decoder{whole: simplifiedchinese.GB18030}
	}
	d := decoder{initial: singleByte[registration(first)]}
	d.extends = len(list) > 1 || strings.HasPrefix(first, "ISO 2022")
	if !d.extends {
		d.whole = d.initial
	}
	return d
}

// registration returns "100" of "ISO_IR 100" or "ISO 2022 IR 100".
func registration(term string) string {
	for _, prefix := range []string{"ISO_IR ", "ISO 2022 IR ", "ISO IR ", "ISO-IR "} {
		if n, ok := strings.CutPrefix(term, prefix); ok {
			return strings.TrimSpace(n)
		}
	}
	return ""
}

// values decodes text and splits it at backslashes. In a person's name the
// delimiters ^ and = end a code extension too (PS3.5 6.1.2.5.3).
func (d decoder) values(text string, name bool) []string {
	switch {
	case isASCII(text):
		return strings.Split(text, `\`)
	case d.extends:
		return d.extended(text, name)
	case d.utf8:
		return strings.Split(strings.ToValidUTF8(text, "\uFFFD"), `\`)
	case d.whole != nil && d.whole != japanese.ShiftJIS:
		return strings.Split(decode(d.whole, text), `\`)
	case d.whole != nil: // JIS X 0201 has the yen sign in place of the backslash
		parts := strings.Split(text, `\`)
		for i, p := range parts {
			parts[i] = decode(d.whole, p)
		}
		return parts
	}
	return strings.Split(unknown(text), `\`)
}

func isASCII(s string) bool {
	for i := range len(s) {
		if s[i] >= utf8.RuneSelf || s[i] == escape {
			return false
		}
	}
	return true
}

func unknown(text string) string {
	if utf8.ValidString(text) {
		return text
	}
	return decode(charmap.ISO8859_1, text)
}

func decode(e encoding.Encoding, s string) string {
	out, err := e.NewDecoder().String(s)
	if err != nil {
		return strings.ToValidUTF8(s, "\uFFFD")
	}
	return out
}

const escape = 0x1B

// designation is one of the sets that an escape sequence designates: into the
// lower half (G0) or the upper half (G1) of the code table.
type designation struct {
	upper  bool
	double bool // two bytes a character
	set    encoding.Encoding
	// prefix is put before each character for the decoder: EUC-JP selects
	// JIS X 0212 by a byte 8F.
	prefix string
}

// designations are the escape sequences of PS3.3 tables C.12-3 and C.12-4,
// without the escape byte. A nil set is ASCII.
var designations = map[string]designation{
	"(B":  {},
	"(J":  {},
	")I":  {upper: true, set: japanese.ShiftJIS},
	"-A":  {upper: true, set: charmap.ISO8859_1},
	"-B":  {upper: true, set: charmap.ISO8859_2},
	"-C":  {upper: true, set: charmap.ISO8859_3},
	"-D":  {upper: true, set: charmap.ISO8859_4},
	"-F":  {upper: true, set: charmap.ISO8859_7},
	"-G":  {upper: true, set: charmap.ISO8859_6},
	"-H":  {upper: true, set: charmap.ISO8859_8},
	"-L":  {upper: true, set: charmap.ISO8859_5},
	"-M":  {upper: true, set: charmap.ISO8859_9},
	"-T":  {upper: true, set: charmap.Windows874},
	"-b":  {upper: true, set: charmap.ISO8859_15},
	"$B":  {double: true, set: japanese.EUCJP},
	"$@":  {double: true, set: japanese.EUCJP},
	"$(D": {double: true, set: japanese.EUCJP, prefix: "\x8F"},
	"$)C": {upper: true, double: true, set: korean.EUCKR},
	"$)A": {upper: true, double: true, set: simplifiedchinese.GBK},
}

// extended decodes text with code extensions: runs between escape sequences
// and delimiters, each by the sets designated at that point.
func (d decoder) extended(text string, name bool) []string {
	lower, upper := designation{}, designation{upper: true, set: d.initial}
	var values []string
	var out, run strings.Builder
	flush := func() {
		out.WriteString(decodeRun(run.String(), lower, upper))
		run.Reset()
	}
	for i := 0; i < len(text); i++ {
		b := text[i]
		switch next, n := designated(text[i:]); {
		case n > 0:
			flush()
			if next.upper {
				upper = next
			} else {
				lower = next
			}
			i += n - 1
		case lower.double && b > ' ' && b < 0x7F && i+1 < len(text):
			run.WriteString(text[i : i+2])
			i++
		case b == '\\' || b == '\n' || b == '\r' || b == '\f' || b == '\t' || name && (b == '^' || b == '='):
			flush()
			lower, upper = designation{}, designation{upper: true, set: d.initial}
			if b == '\\' {
				values = append(values, out.String())
				out.Reset()
			} else {
				out.WriteByte(b)
			}
		default:
			run.WriteByte(b)
		}
	}
	flush()
	return append(values, out.String())
}

// designated returns the set that the escape sequence at the head of text
// selects and the sequence's length, 0 where there is none.
func designated(text string) (designation, int) {
	if text[0] != escape {
		return designation{}, 0
	}
	for n := 2; n <= 3 && n < len(text); n++ {
		if set, ok := designations[text[1:1+n]]; ok {
			return set, 1 + n
		}
	}
	return designation{}, 0
}

// decodeRun decodes a run of bytes: those below 80 by the lower set, the
// others by the upper one.
func decodeRun(run string, lower, upper designation) string {
	var out strings.Builder
	for len(run) > 0 {
		high := run[0] >= 0x80
		n := 1
		for n < len(run) && (run[n] >= 0x80) == high {
			n++
		}
		if high {
			out.WriteString(decodeUpper(run[:n], upper))
		} else {
			out.WriteString(decodeLower(run[:n], lower))
		}
		run = run[n:]
	}
	return out.String()
}

func decodeUpper(s string, d designation) string {
	if d.set == nil {
		return unknown(s)
	}
	return decode(d.set, s)
}

// decodeLower decodes bytes below 80. EUC has the two-byte sets in the upper
// half, so their bytes are moved there.
func decodeLower(s string, d designation) string {
	if !d.double {
		return s
	}
	var euc []byte
	for i := 0; i+1 < len(s); i += 2 {
		if s[i] <= ' ' {
			euc = append(euc, s[i], s[i+1])
			continue
		}
		euc = append(euc, d.prefix...)
		euc = append(euc, s[i]|0x80, s[i+1]|0x80)
	}
	return decode(d.set, string(euc))
}
