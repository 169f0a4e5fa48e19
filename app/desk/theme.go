package desk

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"
)

// Look is how the desk looks: dark for a dim room, or light, and with larger
// letters where they are wanted.
type Look struct {
	Light bool
	// Letters is how many times larger than usual letters are, 1 to 2; 0 is 1.
	Letters float32
}

// look is the present look.
var look Look

// SetLook changes the look and reports whether it is another. What is built
// before keeps the colours it has: set it before [New], and build the desk
// again after a change.
func SetLook(l Look) (changed bool) {
	changed, look = l != look, l
	p := dark
	if l.Light {
		p = light
	}
	colourGround, colourPanel, colourRaised, colourChosen = p.ground, p.panel, p.raised, p.chosen
	colourInput, colourEdge, colourSeparator = p.input, p.edge, p.separator
	colourText, colourMuted, colourHoney, colourOnWarm = p.text, p.muted, p.honey, p.onWarm
	colourAlarm, colourFine, colourOff = p.alarm, p.fine, p.off
	letters := min(max(l.Letters, 1), 2)
	sizeText, sizeCaption = 15*letters, 13*letters
	sizeLine, sizeHead = 16*letters, 20*letters
	return changed
}

// palette is the colours of one look. Text on its ground has a contrast of at
// least 4.5:1 in both, in the dark one of 7:1 (WCAG 2.2, 1.4.3 and 1.4.6); a
// test computes it.
type palette struct {
	ground, panel, raised, chosen color.NRGBA
	input, edge, separator        color.NRGBA
	text, muted, honey, onWarm    color.NRGBA
	alarm, fine, off              color.NRGBA
}

// dark is warm and dark, for a dim room.
var dark = palette{
	ground: opaque(0x161210), panel: opaque(0x211b17), raised: opaque(0x352c25), chosen: opaque(0x4a3a28),
	input: opaque(0x120f0d), edge: opaque(0x5a4d42), separator: opaque(0x3a312a),
	text: opaque(0xf6eee2), muted: opaque(0xc6b8a7), honey: opaque(0xf2b966), onWarm: opaque(0x1d140a),
	alarm: opaque(0xffa88f), fine: opaque(0xb4d9a4), off: opaque(0x9c8f82),
}

// light is paper in daylight. The bench stays dark in it: a radiograph is read
// against a dark ground.
var light = palette{
	ground: opaque(0xefe8df), panel: opaque(0xfaf6f0), raised: opaque(0xece3d7), chosen: opaque(0xf7dfb4),
	input: opaque(0xffffff), edge: opaque(0x8f8070), separator: opaque(0xd8ccbd),
	text: opaque(0x1f1711), muted: opaque(0x51453a), honey: opaque(0x703c00), onWarm: opaque(0xfffaf2),
	alarm: opaque(0x9a1f0a), fine: opaque(0x2b5a1c), off: opaque(0x74685d),
}

// The colours of the present look.
var (
	colourGround, colourPanel, colourRaised, colourChosen = dark.ground, dark.panel, dark.raised, dark.chosen
	colourInput, colourEdge, colourSeparator              = dark.input, dark.edge, dark.separator
	colourText, colourMuted, colourHoney, colourOnWarm    = dark.text, dark.muted, dark.honey, dark.onWarm
	colourAlarm, colourFine, colourOff                    = dark.alarm, dark.fine, dark.off
)

// The colours of the bench and of what is drawn on it, the same in each look.
var (
	colourBench = opaque(0x0b0908)
	inkText     = dark.text
	inkMuted    = dark.muted
	inkHoney    = dark.honey
	inkEdge     = dark.edge
)

// Text sizes are larger than a desk program's usual ones: the screen stands at
// arm's length.
var (
	sizeText    float32 = 15
	sizeCaption float32 = 13
	sizeLine    float32 = 16
	sizeHead    float32 = 20
)

func opaque(rgb uint32) color.NRGBA {
	return color.NRGBA{uint8(rgb >> 16), uint8(rgb >> 8), uint8(rgb), 0xff}
}

// through is a colour that lets what is below shine through.
func through(c color.NRGBA, alpha uint8) color.NRGBA {
	c.A = alpha
	return c
}

// Theme gives the toolkit's widgets the present look. It is the same for the
// light and the dark variant of the system: the user chooses the look.
type Theme struct{}

// Color returns the colour of a part of a widget.
func (Theme) Color(name fyne.ThemeColorName, _ fyne.ThemeVariant) color.Color {
	switch name {
	case theme.ColorNameBackground:
		return colourGround
	case theme.ColorNameButton:
		return colourRaised
	case theme.ColorNameDisabledButton, theme.ColorNameHeaderBackground, theme.ColorNameMenuBackground,
		theme.ColorNameOverlayBackground, theme.ColorNameScrollBarBackground:
		return colourPanel
	case theme.ColorNameInputBackground:
		return colourInput
	case theme.ColorNameInputBorder:
		return colourEdge
	case theme.ColorNameSeparator:
		return colourSeparator
	case theme.ColorNameShadow:
		return color.NRGBA{A: 0xb0}
	}
	if c, ok := letterColour(name); ok {
		return c
	}
	return theme.DefaultTheme().Color(name, theme.VariantDark)
}

// letterColour returns the colour of letters, and of what is laid over a
// widget while it is pointed at, pressed or has the focus.
func letterColour(name fyne.ThemeColorName) (color.NRGBA, bool) {
	switch name {
	case theme.ColorNameForeground:
		return colourText, true
	case theme.ColorNamePlaceHolder:
		return colourMuted, true
	case theme.ColorNameDisabled:
		return colourOff, true
	case theme.ColorNamePrimary, theme.ColorNameHyperlink, theme.ColorNameWarning:
		return colourHoney, true
	case theme.ColorNameForegroundOnPrimary, theme.ColorNameForegroundOnError, theme.ColorNameForegroundOnSuccess,
		theme.ColorNameForegroundOnWarning:
		return colourOnWarm, true
	case theme.ColorNameError:
		return colourAlarm, true
	case theme.ColorNameSuccess:
		return colourFine, true
	case theme.ColorNameHover:
		return through(colourText, hoverVeil), true
	case theme.ColorNamePressed:
		return through(colourText, pressedVeil), true
	case theme.ColorNameFocus:
		return through(colourHoney, focusVeil), true
	case theme.ColorNameSelection:
		return through(colourHoney, selectionVeil), true
	case theme.ColorNameScrollBar:
		return through(colourMuted, 0xa0), true
	}
	return color.NRGBA{}, false
}

// How much of a colour is laid over a widget that is pointed at, pressed, has
// the focus, or whose text is selected, of 255.
const (
	hoverVeil     = 0x1c
	pressedVeil   = 0x26
	focusVeil     = 0x60
	selectionVeil = 0x55
)

// Font returns the toolkit's own font.
func (Theme) Font(style fyne.TextStyle) fyne.Resource { return theme.DefaultTheme().Font(style) }

// Icon returns the toolkit's own icon.
func (Theme) Icon(name fyne.ThemeIconName) fyne.Resource { return theme.DefaultTheme().Icon(name) }

// Size returns the size of a part of a widget.
func (Theme) Size(name fyne.ThemeSizeName) float32 {
	switch name {
	case theme.SizeNameText:
		return sizeText
	case theme.SizeNameCaptionText:
		return sizeCaption
	case theme.SizeNameSubHeadingText:
		return sizeLine
	case theme.SizeNameHeadingText:
		return sizeHead
	case theme.SizeNameInlineIcon:
		return sizeText * 4 / 3
	case theme.SizeNameInputRadius:
		return 3
	case theme.SizeNameInnerPadding:
		return 7
	case theme.SizeNameModalBlurRadius:
		// No blur behind dialogs: without a graphics card it takes half a second a
		// frame.
		return 0
	}
	return theme.DefaultTheme().Size(name)
}
