package dicomfile

import (
	"fmt"
	"io"

	"github.com/suyashkumar/dicom/pkg/tag"
)

// Identity is whom a picture shows, kept apart from [Description] so that it is
// only ever read on purpose. Printing or logging an Identity withholds it;
// take its fields to show them.
type Identity struct {
	// Name is the person's name in UTF-8 as DICOM writes it: family^given^…,
	// with alphabetic, ideographic and phonetic forms separated by "="
	// (PS3.5 6.2.1).
	Name string
	ID   string
	// BirthDate is YYYY-MM-DD, or as the file has it where that is no date.
	BirthDate string
	Sex       string // "M", "F", "O" or ""
}

const withheld = "patient identity withheld"

// Format withholds the identity from every verb of package fmt.
func (Identity) Format(s fmt.State, _ rune) { _, _ = io.WriteString(s, withheld) }

// Identity returns whom the file says it shows.
func (f *File) Identity() Identity {
	return Identity{
		Name:      f.header.line(tag.PatientName),
		ID:        f.header.line(tag.PatientID),
		BirthDate: isoDate(f.header.line(tag.PatientBirthDate)),
		Sex:       f.header.line(tag.PatientSex),
	}
}
