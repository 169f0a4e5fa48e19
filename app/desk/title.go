package desk

import (
	"slices"
	"strings"

	"rootrule/app/wording"
	"rootrule/measure"
)

// role is what a mark stands for.
type role int

const (
	rolePlain role = iota
	roleReference
	roleOrifice
	roleCurveStart
	roleApex
	roleTip
	roleStop
	roleCoronalEnd
	roleApicalEnd
	roleEdge
	roleSide
	roleTop
	roleMargin
)

// roleOf says what a mark of an item stands for.
func roleOf(im *measure.ImageMarks, g grip) role {
	n := along(im, g.item)
	if g.mark >= n {
		if s := singles(im, g.item); g.mark-n < len(s) {
			return s[g.mark-n].as
		}
		return rolePlain
	}
	first, last := g.mark == 0, g.mark == n-1
	switch g.kind {
	case canal:
		return roleInCanal(im.Canals[g.index], g.mark)
	case calibration:
		switch c := im.Calibration[g.index]; {
		case c.Kind == measure.CalibrationFile && first:
			return roleTip
		case c.Kind == measure.CalibrationFile && last:
			return roleStop
		}
	case obstruction, post:
		switch {
		case first:
			return roleCoronalEnd
		case last:
			return roleApicalEnd
		}
	}
	return rolePlain
}

func roleInCanal(c measure.Canal, mark int) role {
	switch {
	case mark == len(c.Marks)-1:
		return roleApex
	case mark == 0:
		return roleReference
	case mark == c.Orifice:
		return roleOrifice
	case c.CurveStart != nil && mark == *c.CurveStart:
		return roleCurveStart
	}
	return rolePlain
}

// subjectOf names an item as findings do: "canal 46 ML", "lesion 46 D".
func subjectOf(im *measure.ImageMarks, it item) string {
	if !exists(im, it) {
		return ""
	}
	switch it.kind {
	case canal:
		return measure.CanalSubject(im.Canals[it.index])
	case lesion:
		return measure.LesionSubject(im.Lesions[it.index])
	case filling:
		return measure.FillingSubject(im.Fillings[it.index])
	case void:
		f, _ := voidIn(im, it.index)
		return measure.FillingSubject(*f)
	case obstruction:
		return measure.ObstructionSubject(im.Obstructions[it.index])
	case post:
		return measure.PostSubject(im.Posts[it.index])
	}
	return measure.ImageSubject
}

// nameOf names an item for the reader: "canal 46 ML".
func nameOf(im *measure.ImageMarks, it item) string {
	if !exists(im, it) {
		return ""
	}
	switch it.kind {
	case canal:
		return titled(it.kind, im.Canals[it.index].Tooth, im.Canals[it.index].Name)
	case lesion:
		return titled(it.kind, im.Lesions[it.index].Tooth, im.Lesions[it.index].Name)
	case filling:
		return titled(it.kind, im.Fillings[it.index].Tooth, im.Fillings[it.index].Canal)
	case post:
		return titled(it.kind, im.Posts[it.index].Tooth, im.Posts[it.index].Canal)
	case obstruction:
		o := im.Obstructions[it.index]
		return titledObstruction(o.Kind, o.Tooth, o.Canal)
	case void:
		f, i := voidIn(im, it.index)
		return wording.Say("void %d of filling %s", i+1, join(f.Tooth, f.Canal))
	}
	if isStated(im, it) {
		return wording.Say("stated spacing")
	}
	return wording.Say("calibration")
}

// titled names an item by its kind, tooth and canal or letter.
func titled(k kind, tooth, name string) string {
	name = join(wording.Tooth(tooth), name)
	switch k {
	case canal:
		return wording.Say("canal %s", name)
	case lesion:
		return wording.Say("lesion %s", name)
	case filling:
		return wording.Say("filling %s", name)
	case post:
		return wording.Say("post %s", name)
	}
	return wording.Say("calibration")
}

func titledObstruction(what, tooth, name string) string {
	name = join(wording.Tooth(tooth), name)
	switch what {
	case measure.ObstructionMetalPoint:
		return wording.Say("metal point %s", name)
	case measure.ObstructionPost:
		return wording.Say("post in the way %s", name)
	}
	return wording.Say("instrument %s", name)
}

// markName says which mark of its item a grip is: "the apex of canal 46 ML".
func markName(im *measure.ImageMarks, g grip) string {
	of := nameOf(im, g.item)
	if g.mark < 0 {
		return of
	}
	switch roleOf(im, g) {
	case roleReference:
		return wording.Say("the coronal reference point of %s", of)
	case roleOrifice:
		return wording.Say("the orifice of %s", of)
	case roleCurveStart:
		return wording.Say("the start of the curve of %s", of)
	case roleApex:
		return wording.Say("the apex of %s", of)
	case roleTip:
		return wording.Say("the tip of %s", of)
	case roleStop:
		return wording.Say("the stop of %s", of)
	case roleCoronalEnd:
		return wording.Say("the coronal end of %s", of)
	case roleApicalEnd:
		return wording.Say("the apical end of %s", of)
	case roleEdge:
		return wording.Say("an edge of %s", of)
	case roleSide:
		return wording.Say("the root surface beside %s", of)
	case roleTop:
		return wording.Say("the top of the crown above %s", of)
	case roleMargin:
		return wording.Say("the crown margin above %s", of)
	}
	return wording.Say("mark %d of %s", g.mark+1, of)
}

// join puts the words that aren't empty in a row.
func join(words ...string) string {
	return strings.Join(slices.DeleteFunc(words, func(s string) bool { return s == "" }), " ")
}
