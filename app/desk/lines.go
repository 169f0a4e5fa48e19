package desk

import (
	"cmp"
	"slices"
	"strings"

	"rootrule/app/wording"
	"rootrule/measure"
)

// block is one canal, lesion, filling, obstruction or post of the case: its
// lines on the worksheet, across all images that show it.
type block struct {
	section section
	of      string // as findings name it
	tooth   string // FDI
	name    string
	root    string // that a canal lies in, empty where the name doesn't tell
	rank    int    // of the root
	lines   []spec
}

// section is a part of the worksheet.
type section int

// The sections, from the top down.
const (
	canals section = iota
	lesions
	fillings
	obstructions
	posts
	sections
)

// title heads a section.
func (s section) title() string {
	return [...]string{wording.Say("Canals"), wording.Say("Lesions"), wording.Say("Root fillings"),
		wording.Say("Obstructions"), wording.Say("Posts")}[s]
}

// empty says that a section has nothing; empty for sections that are then not
// shown at all.
func (s section) empty() string {
	return [...]string{wording.Say("None traced yet."), wording.Say("None outlined yet."), "", "", ""}[s]
}

// subjects returns how findings name the items of a section on an image, with
// tooth and name, in the order of the marks.
func (s section) subjects(im *measure.ImageMarks) []block {
	var out []block
	add := func(of, tooth, name string) { out = append(out, block{section: s, of: of, tooth: tooth, name: name}) }
	switch s {
	case canals:
		for _, c := range im.Canals {
			add(measure.CanalSubject(c), c.Tooth, c.Name)
		}
	case lesions:
		for _, l := range im.Lesions {
			add(measure.LesionSubject(l), l.Tooth, l.Name)
		}
	case fillings:
		for _, f := range im.Fillings {
			add(measure.FillingSubject(f), f.Tooth, f.Canal)
		}
	case obstructions:
		for _, o := range im.Obstructions {
			add(measure.ObstructionSubject(o), o.Tooth, join(o.Canal, obstructionName(o.Kind)))
		}
	case posts:
		for _, p := range im.Posts {
			add(measure.PostSubject(p), p.Tooth, p.Canal)
		}
	}
	return out
}

func obstructionName(kind string) string {
	switch kind {
	case measure.ObstructionInstrument:
		return wording.Say("instrument")
	case measure.ObstructionMetalPoint:
		return wording.Say("metal point")
	case measure.ObstructionPost:
		return wording.Say("post")
	}
	return kind
}

// index returns which item of its section a block is on an image; -1 for none.
func (b block) index(im *measure.ImageMarks) int {
	if im == nil {
		return -1
	}
	return slices.IndexFunc(b.section.subjects(im), func(o block) bool { return o.of == b.of })
}

// blocks collects what the images of a case show: canals in the order of
// their roots, all else as it was marked.
func blocks(images []measure.ImageMarks) []block {
	var out []block
	for s := range sections {
		var of []block
		for i := range images {
			for _, b := range s.subjects(&images[i]) {
				if !slices.ContainsFunc(of, func(o block) bool { return o.of == b.of }) {
					of = append(of, b)
				}
			}
		}
		if s == canals {
			for i := range of {
				of[i].rank, of[i].root = rootOf(of[i].tooth, of[i].name)
			}
			slices.SortStableFunc(of, func(a, b block) int {
				return cmp.Or(strings.Compare(a.tooth, b.tooth), a.rank-b.rank)
			})
		}
		for i := range of {
			of[i].lines = s.lines()
		}
		out = append(out, of...)
	}
	return out
}

// rootOf tells from the usual names of canals in which root of a tooth (FDI)
// a canal lies, and in which order roots are listed.
func rootOf(tooth, canal string) (rank int, root string) {
	t, err := measure.ParseTooth(tooth, measure.FDI)
	if err != nil || canal == "" {
		return 0, ""
	}
	position := int(t) % 10
	molar := position >= 6 || t.Primary() && position >= 4
	first := strings.ToUpper(canal)[0]
	switch {
	case molar && t.Upper():
		return upperMolarRoot(strings.ToUpper(canal))
	case molar && first == 'M':
		return 0, wording.Say("mesial root")
	case molar && first == 'D':
		return 1, wording.Say("distal root")
	case t.Upper() && position >= 4 && !t.Primary() && first == 'B':
		return 0, wording.Say("buccal root")
	case t.Upper() && position >= 4 && !t.Primary() && (first == 'P' || first == 'L'):
		return 1, wording.Say("palatal root")
	}
	return 0, ""
}

func upperMolarRoot(canal string) (rank int, root string) {
	switch {
	case strings.HasPrefix(canal, "MB"):
		return 0, wording.Say("mesiobuccal root")
	case strings.HasPrefix(canal, "DB"):
		return 1, wording.Say("distobuccal root")
	case strings.HasSuffix(strings.TrimRight(canal, "0123456789"), "P"):
		return 2, wording.Say("palatal root")
	}
	return 3, ""
}

// when says whether a line is shown.
type when int

const (
	always when = iota
	filled      // where it has a value on some image
	asked       // where all lines are wanted, or a value was typed
)

// spec is one line of a block: a number of measure, or a reading that is
// typed.
type spec struct {
	name  string // as shown
	what  string // of the finding
	typed *entry
	show  when
	words func(measure.Finding) (large, small string)
}

// number is a line with a value and its ±.
func number(name, what string, show when) spec {
	return spec{name: name, what: what, show: show, words: func(f measure.Finding) (string, string) {
		return wording.Value(f.Quantity), wording.Margin(f.Quantity)
	}}
}

func typedLine(r *entry, show when) spec { return spec{name: r.name, typed: r, show: show} }

// lines are the lines of each block of a section.
func (s section) lines() []spec {
	switch s {
	case canals:
		return canalLines()
	case lesions:
		return lesionLines()
	case fillings:
		return fillingLines()
	case obstructions:
		return []spec{
			number(wording.Say("length"), measure.WhatObstructionLength, always),
			number(wording.Say("below orifice"), measure.WhatObstructionDepth, always),
			number(wording.Say("to apex"), measure.WhatObstructionToApex, always),
			number(wording.Say("straight to it"), measure.WhatStraightToObstruction, asked),
			number(wording.Say("to next canal"), measure.WhatObstructionToCanal, asked),
			number(wording.Say("dentine beside"), measure.WhatDentine+"_1", filled),
			number(wording.Say("other side"), measure.WhatDentine+"_2", filled),
		}
	}
	return []spec{
		number(wording.Say("length"), measure.WhatPostLength, always),
		number(wording.Say("post / root"), measure.WhatPostToRoot, filled),
		number(wording.Say("post / crown"), measure.WhatPostToCrown, filled),
		number(wording.Say("filling left"), measure.WhatApicalSeal, filled),
	}
}

func canalLines() []spec {
	working := number(wording.Say("working length"), measure.WhatWorkingLength, always)
	working.words = func(f measure.Finding) (string, string) {
		return wording.Clinical(f.Quantity), "(" + wording.Bare(f.Quantity) + ")"
	}
	return []spec{
		number(wording.Say("length"), measure.WhatLength, always),
		working,
		number(wording.Say("Schneider"), measure.WhatSchneiderAngle, always),
		typedLine(readingEAL(), always),
		number(wording.Say("EAL − image"), measure.WhatEALDifference, filled),
		typedLine(readingOffset(), asked),
		typedLine(readingUsed(), asked),
		number(wording.Say("used − working"), measure.WhatUsedDifference, filled),
		typedLine(readingConeFit(), asked),
		number(wording.Say("cone − used"), measure.WhatConeFitDifference, filled),
		typedLine(readingFilled(), asked),
		number(wording.Say("filled − used"), measure.WhatFilledDifference, filled),
		number(wording.Say("Weine"), measure.WhatWeineAngle, asked),
		number(wording.Say("Pruett"), measure.WhatPruettAngle, asked),
		number(wording.Say("radius"), measure.WhatPruettRadius, asked),
		number(wording.Say("access angle"), measure.WhatAccessAngle, asked),
		number(wording.Say("curve, from apex"), measure.WhatCurveStartFromApex, asked),
		number(wording.Say("second curve"), measure.WhatSecondAngle, filled),
		number(wording.Say("longer file"), measure.WhatFileLength, asked),
	}
}

func lesionLines() []spec {
	return []spec{
		number(wording.Say("area"), measure.WhatArea, always),
		number(wording.Say("longest"), measure.WhatLongestDiameter, always),
		number(wording.Say("across it"), measure.WhatPerpendicularDiameter, always),
		typedLine(readingPAI(), always),
		typedLine(readingPAI2(), always),
		number(wording.Say("contrast"), measure.WhatContrast, asked),
	}
}

func fillingLines() []spec {
	ends := spec{name: wording.Say("it ends"), what: measure.WhatFillingToApex, words: fillingWords}
	return []spec{
		number(wording.Say("to apex"), measure.WhatFillingToApex, always), ends,
		number(wording.Say("share of canal"), measure.WhatFillingRatio, always),
		number(wording.Say("taper"), measure.WhatFillingTaper, filled),
		number(wording.Say("voids"), measure.WhatVoidCount, filled),
		number(wording.Say("area of voids"), measure.WhatVoidArea, filled),
	}
}

// fillingWords says where a filling ends. Where its ± reaches over a limit,
// both sides are named.
func fillingWords(f measure.Finding) (string, string) {
	q := f.Quantity
	switch u := q.Expanded(); {
	case !q.Defined() || q.Unit != measure.Millimetre || len(f.Cautions) > 0 && untraced(f):
		return wording.Say("not known"), ""
	case q.Value+u >= 0 && q.Value-u < 0:
		return wording.Say("at the apex"), ""
	case q.Value+u > measure.AdequateShort && q.Value-u <= measure.AdequateShort:
		return wording.Say("adequate/short"), ""
	}
	switch measure.FillingLevel(q.Value) {
	case "adequate":
		return wording.Say("adequate"), ""
	case "short":
		return wording.Say("short"), ""
	}
	return wording.Say("beyond apex"), ""
}

// untraced reports whether a filling's finding says that its canal isn't
// traced, so that short and beyond can't be told apart.
func untraced(f measure.Finding) bool {
	return slices.ContainsFunc(f.Cautions, func(c string) bool { return strings.Contains(c, "not traced") })
}
