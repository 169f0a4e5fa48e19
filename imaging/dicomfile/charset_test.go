package dicomfile

import (
	"fmt"
	"path/filepath"
	"testing"

	"github.com/suyashkumar/dicom/pkg/tag"
)

// TestCharacterSets decodes the worked examples of PS3.5 annexes H, I, J and K
// and names in the single-byte sets.
func TestCharacterSets(t *testing.T) {
	for _, c := range []struct{ name, set, text, want string }{
		{"ASCII", "", "Doe^Jane", "Doe^Jane"},
		{"Latin 1", "ISO_IR 100", "Buc^J\xe9r\xf4me", "Buc^Jérôme"},
		{"Latin 2", "ISO_IR 101", "Wa\xb3\xeasa", "Wałęsa"},
		{"Cyrillic", "ISO_IR 144", "\xbb\xee\xdace\xdc\xd1yp\xd3", "Люкceмбypг"},
		{"Greek", "ISO_IR 126", "\xc4\xe9\xef\xed\xf5\xf3\xe9\xef\xf2", "Διονυσιος"},
		{"Arabic", "ISO_IR 127", "\xe2\xc8\xc7\xe6\xea", "قباني"},
		{"Hebrew", "ISO_IR 138", "\xf9\xf8\xe5\xef", "שרון"},
		{"Turkish", "ISO_IR 148", "\xc7avu\xfeo\xf0lu", "Çavuşoğlu"},
		{"Thai", "ISO_IR 166", "\xca\xc1\xaa\xd2\xc2", "สมชาย"},
		{"UTF-8", "ISO_IR 192", "Wang^XiaoDong=王^小东", "Wang^XiaoDong=王^小东"},
		{"GB18030", "GB18030", "Wang^XiaoDong=\xcd\xf5^\xd0\xa1\xb6\xab", "Wang^XiaoDong=王^小东"},
		{"GBK", "GBK", "Wang^XiaoDong=\xcd\xf5^\xd0\xa1\xb6\xab", "Wang^XiaoDong=王^小东"},
		{"GB18030, backslash as second byte", "GB18030", "\x81\x5c", "乗"},
		{"Japanese, H.3.1", `\ISO 2022 IR 87`,
			"Yamada^Tarou=\x1b$B;3ED\x1b(B^\x1b$BB@O:\x1b(B=\x1b$B$d$^$@\x1b(B^\x1b$B$?$m$&\x1b(B",
			"Yamada^Tarou=山田^太郎=やまだ^たろう"},
		{"Japanese, H.3.2", `ISO 2022 IR 13\ISO 2022 IR 87`,
			"\xd4\xcf\xc0\xde^\xc0\xdb\xb3=\x1b$B;3ED\x1b(J^\x1b$BB@O:\x1b(J=\x1b$B$d$^$@\x1b(J^\x1b$B$?$m$&\x1b(J",
			"ﾔﾏﾀﾞ^ﾀﾛｳ=山田^太郎=やまだ^たろう"},
		{"Korean, I.2", `\ISO 2022 IR 149`,
			"Hong^Gildong=\x1b$)C\xfb\xf3^\x1b$)C\xd1\xce\xd4\xd7=\x1b$)C\xc8\xab^\x1b$)C\xb1\xe6\xb5\xbf",
			"Hong^Gildong=洪^吉洞=홍^길동"},
		{"Chinese, K.2", `\ISO 2022 IR 58`, "Zhang^XiaoDong=\x1b$)A\xd5\xc5^\x1b$)A\xd0\xa1\xb6\xab=", "Zhang^XiaoDong=张^小东="},
		{"French and Greek", `ISO 2022 IR 100\ISO 2022 IR 126`, "J\xe9r\xf4me \x1b-F\xc4\xe9\xef", "Jérôme Διο"},
		{"two-byte character with a backslash", `\ISO 2022 IR 87`, "\x1b$B%\\\x1b(B", "ボ"},
		{"Katakana alone", "ISO_IR 13", "\xd4\xcf\xc0\xde^\xc0\xdb\xb3", "ﾔﾏﾀﾞ^ﾀﾛｳ"},
		{"Japanese, JIS X 0212", `\ISO 2022 IR 87\ISO 2022 IR 159`, "\x1b$(D\x22\x6f\x1b(B", "™"},
		{"extension said, escape unknown", `\ISO 2022 IR 87`, "a\x1b(Zb", "a\x1b(Zb"},
		{"extension said, none used", `\ISO 2022 IR 87`, "J\xe9r\xf4me", "Jérôme"},
		{"extension ends at a tab", `\ISO 2022 IR 87`, "\x1b$B;3ED\tabc", "山田\tabc"},
		{"invalid UTF-8", "ISO_IR 192", "J\xe9r", "J\uFFFDr"},
		{"none said, valid UTF-8", "", "J\u00e9r\u00f4me", "Jérôme"},
		{"none said, not UTF-8", "", "J\xe9r\xf4me", "Jérôme"},
		{"unknown term", "ISO_IR 999", "J\xe9r\xf4me", "Jérôme"},
	} {
		t.Run(c.name, func(t *testing.T) {
			attrs := with(picture(1, 1, 8, 8, []byte{0, 0}), attr{tag.PatientName, "PN", c.text})
			if c.set != "" {
				attrs = with(attrs, attr{tag.SpecificCharacterSet, "CS", c.set})
			}
			if got := mustRead(t, build{attrs: attrs}).Identity().Name; got != c.want {
				t.Errorf("got  %q\nwant %q", got, c.want)
			}
		})
	}
}

// TestCharacterSetOfItem reads text inside a sequence by the set of the item,
// which may have its own.
func TestCharacterSetOfItem(t *testing.T) {
	f := mustRead(t, build{attrs: with(picture(1, 1, 8, 8, []byte{0, 0}),
		attr{tag.SpecificCharacterSet, "CS", "ISO_IR 100"},
		attr{tag.AnatomicRegionSequence, "SQ", [][]attr{
			{{tag.CodeValue, "SH", "1"}, {tag.CodeMeaning, "LO", "m\xe2choire"}},
			{{tag.SpecificCharacterSet, "CS", "ISO_IR 192"}, {tag.CodeValue, "SH", "2"}, {tag.CodeMeaning, "LO", "mâchoire"}},
		}})})
	for i, c := range f.Anatomy {
		if c.Meaning != "mâchoire" {
			t.Errorf("item %d reads %q", i, c.Meaning)
		}
	}
	if len(f.Anatomy) != 2 {
		t.Errorf("%d terms, want 2", len(f.Anatomy))
	}
}

// TestCharacterSetFiles decodes the names in the sample files of pydicom, whose
// wording is that of its own tests.
func TestCharacterSetFiles(t *testing.T) {
	folder := filepath.Join(peersFolder(t), "charset_files")
	for name, want := range map[string]string{
		"chrArab":      "قباني^لنزار",
		"chrFren":      "Buc^Jérôme",
		"chrFrenMulti": "Buc^Jérôme",
		"chrGerm":      "Äneas^Rüdiger",
		"chrGreek":     "Διονυσιος",
		"chrH31":       "Yamada^Tarou=山田^太郎=やまだ^たろう",
		"chrH32":       "ﾔﾏﾀﾞ^ﾀﾛｳ=山田^太郎=やまだ^たろう",
		"chrHbrw":      "שרון^דבורה",
		"chrI2":        "Hong^Gildong=洪^吉洞=홍^길동",
		"chrRuss":      "Люкceмбypг",
		"chrX1":        "Wang^XiaoDong=王^小東=",
		"chrX2":        "Wang^XiaoDong=王^小东=",
	} {
		f, err := Open(filepath.Join(folder, name+".dcm"))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if got := f.Identity().Name; got != want {
			t.Errorf("%s: got %q, want %q", name, got, want)
		}
	}
}

// TestIdentityWithheld: no verb prints whom a picture shows.
func TestIdentityWithheld(t *testing.T) {
	id := Identity{Name: "Doe^Jane", ID: "4711", BirthDate: "1970-01-01", Sex: "F"}
	for _, verb := range []string{"%v", "%+v", "%#v", "%s", "%q", "%d"} {
		if got := fmt.Sprintf(verb, id); got != withheld {
			t.Errorf("%s prints %q", verb, got)
		}
	}
}
