package wording

import (
	"fmt"
	"strconv"
	"strings"

	"rootrule/measure"
)

// notation is how teeth are shown and typed. Cases and marks keep FDI always.
var notation = measure.FDI

// SetNotation chooses how [Tooth] and [ReadTooth] name teeth; an unknown
// notation is FDI.
func SetNotation(n measure.Notation) {
	switch n {
	case measure.Universal, measure.Palmer:
		notation = n
	default:
		notation = measure.FDI
	}
}

// Tooth shows a tooth, given in FDI notation, in the chosen one. What is no
// tooth is shown as it is.
func Tooth(fdi string) string {
	n, err := strconv.Atoi(fdi)
	if t := measure.Tooth(n); err == nil && t.Valid() {
		return t.In(notation)
	}
	return fdi
}

// ReadTooth reads a tooth typed in the chosen notation and returns it in FDI;
// nothing typed is no tooth.
func ReadTooth(text string) (fdi string, err error) {
	if text = strings.TrimSpace(text); text == "" {
		return "", nil
	}
	t, err := measure.ParseTooth(text, notation)
	if err != nil {
		return "", fmt.Errorf("%s", Say("tooth: %q is none in %s notation: type one such as %s", text, string(notation), ToothExample()))
	}
	return t.In(measure.FDI), nil
}

// ToothExample is a tooth in the chosen notation: the lower right first molar.
func ToothExample() string { return measure.Tooth(46).In(notation) }
