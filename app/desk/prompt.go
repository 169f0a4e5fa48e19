package desk

import (
	"rootrule/app/wording"
	"rootrule/measure"
)

// title names what the task makes: "canal 46 ML".
func (t *task) title() string {
	switch t.kind {
	case width:
		return wording.Say("width of filling %s", join(t.tooth, t.name))
	case void:
		return wording.Say("void in filling %s", join(t.tooth, t.name))
	case dentineSide:
		return wording.Say("root surface beside the obstruction")
	case postTop:
		return wording.Say("top of the crown")
	case postMargin:
		return wording.Say("crown margin")
	case postApex:
		return wording.Say("apex of the root with the post")
	case obstruction:
		return titledObstruction(t.way, t.tooth, t.name)
	}
	return titled(t.kind, t.tooth, t.name)
}

// label names the step that the task's marks make, for the undo menu.
func (t *task) label(marks int) string {
	if t.late() {
		return wording.Say("mark %s", t.title())
	}
	return wording.Say("mark %[2]d of %[1]s", t.title(), marks)
}

// needs says that the task has too few marks to be kept.
func (t *task) needs() string {
	switch {
	case t.assisted && t.kind == lesion:
		return wording.Say("Click inside the lesion first.")
	case t.assisted && t.kind == canal:
		return wording.Say("The orifice and the apex of %s are needed first.", t.title())
	case least[t.kind] == 1:
		return wording.Say("There is no mark yet: %s needs one.", t.title())
	}
	return wording.Say("There are too few marks yet: %s needs %d.", t.title(), least[t.kind])
}

// next says what the next click will do.
func (t *task) next() string {
	n := len(t.points)
	switch t.kind {
	case calibration:
		return t.nextOfCalibration(n)
	case canal:
		if t.assisted {
			return t.nextAssisted(n)
		}
		return t.nextAlongCanal(n)
	case lesion:
		if t.assisted {
			return wording.Say("Click inside %s: its outline is found. Y: by hand.", t.title())
		}
		return t.nextRound(n)
	case void:
		return t.nextRound(n)
	case obstruction, post:
		if n == 0 {
			return wording.Say("Click the coronal end of %s.", t.title())
		}
		return wording.Say("Click its apical end.")
	case filling:
		if n == 0 {
			return wording.Say("Click the apical end of %s.", t.title())
		}
		return wording.Say("Click the radiographic apex of the root.")
	case width:
		if n == 0 {
			return wording.Say("Click one edge of filling %s; begin near its tip.", join(t.tooth, t.name))
		}
		return wording.Say("Click the other edge, straight across.")
	}
	return t.nextSingle()
}

// nextSingle says what the one click of a task is for.
func (t *task) nextSingle() string {
	switch t.kind {
	case dentineSide:
		return wording.Say("Click the root surface beside the obstruction.")
	case postTop:
		return wording.Say("Click the top of the crown above the post.")
	case postMargin:
		return wording.Say("Click the crown margin above the post.")
	}
	return wording.Say("Click the radiographic apex of the root with the post.")
}

func (t *task) nextOfCalibration(n int) string {
	switch {
	case t.way == measure.CalibrationDistance && n == 0:
		return wording.Say("Click one end of the known distance (%g mm, change it at the right).", t.known)
	case t.way == measure.CalibrationDistance:
		return wording.Say("Click the other end of the known distance.")
	case n == 0:
		return wording.Say("Click the tip of the file (known length %g mm, change it at the right).", t.known)
	case t.assisted:
		return wording.Say("Click the stop of the file: its centre line is found.")
	case n == 1:
		return wording.Say("Click along the file; the last click is the stop.")
	}
	return wording.Say("Click on along the file, or press Enter if the last mark is the stop.")
}

// nextAssisted: the orifice and the apex make the line at once, the coronal
// reference point, from which the length is measured, ends the task.
func (t *task) nextAssisted(n int) string {
	switch {
	case n == 0:
		return wording.Say("Click the orifice of %s.", t.title())
	case n == 1:
		return wording.Say("Click the radiographic apex of %s: the line follows the canal. Y: by hand.", t.title())
	case t.found == nil:
		return wording.Say("The line is being found.")
	}
	return wording.Say("Click the coronal reference point, where the stop will rest. Line wrong? Click where the canal runs, or U.")
}

func (t *task) nextAlongCanal(n int) string {
	switch n {
	case 0:
		return wording.Say("Click the coronal reference point of %s, where the stop will rest.", t.title())
	case 1:
		return wording.Say("Click the orifice of %s.", t.title())
	case 2:
		return wording.Say("Click along the canal; the last click is the radiographic apex.")
	}
	return wording.Say("Click on along the canal, or press Enter if the last mark is the apex. Backspace takes it back.")
}

func (t *task) nextRound(n int) string {
	switch {
	case n == 0:
		return wording.Say("Click on the edge of %s.", t.title())
	case n < least[t.kind]:
		return wording.Say("Click on round the edge of %s.", t.title())
	}
	return wording.Say("Click on round the edge; a click on the first mark, or Enter, closes the outline.")
}
