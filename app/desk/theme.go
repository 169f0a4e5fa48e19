package desk

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"
)

// The colours of the desk: warm and dark, for a dim room. Text on its ground
// has a contrast of at least 7:1, muted text of 4.5:1 (WCAG 2.2, 1.4.3); a
// test computes it.
var (
	colourGround = color.NRGBA{0x16, 0x12, 0x10, 0xff}
	colourBench  = color.NRGBA{0x0b, 0x09, 0x08, 0xff}
	colourPanel  = color.NRGBA{0x21, 0x1b, 0x17, 0xff}
	colourRaised = color.NRGBA{0x35, 0x2c, 0x25, 0xff}
	colourChosen = color.NRGBA{0x4a, 0x3a, 0x28, 0xff}
	colourEdge   = color.NRGBA{0x5a, 0x4d, 0x42, 0xff}
	colourText   = color.NRGBA{0xf6, 0xee, 0xe2, 0xff}
	colourMuted  = color.NRGBA{0xc6, 0xb8, 0xa7, 0xff}
	colourHoney  = color.NRGBA{0xf2, 0xb9, 0x66, 0xff}
	colourOnWarm = color.NRGBA{0x1d, 0x14, 0x0a, 0xff}
	colourAlarm  = color.NRGBA{0xff, 0xa8, 0x8f, 0xff}
	colourFine   = color.NRGBA{0xb4, 0xd9, 0xa4, 0xff}
	colourVeil   = color.NRGBA{0x00, 0x00, 0x00, 0xb0}
)

// Theme is the look of the desk. It is the same for the light and the dark
// variant of the system: radiographs are read in the dark.
type Theme struct{}

var themeColours = map[fyne.ThemeColorName]color.NRGBA{
	theme.ColorNameBackground:          colourGround,
	theme.ColorNameButton:              colourRaised,
	theme.ColorNameDisabledButton:      colourPanel,
	theme.ColorNameDisabled:            {0x8d, 0x80, 0x73, 0xff},
	theme.ColorNameError:               colourAlarm,
	theme.ColorNameFocus:               {0xf2, 0xb9, 0x66, 0x70},
	theme.ColorNameForeground:          colourText,
	theme.ColorNameForegroundOnPrimary: colourOnWarm,
	theme.ColorNameForegroundOnError:   colourOnWarm,
	theme.ColorNameForegroundOnSuccess: colourOnWarm,
	theme.ColorNameForegroundOnWarning: colourOnWarm,
	theme.ColorNameHeaderBackground:    colourPanel,
	theme.ColorNameHover:               {0xf6, 0xee, 0xe2, 0x1c},
	theme.ColorNameHyperlink:           colourHoney,
	theme.ColorNameInputBackground:     {0x12, 0x0f, 0x0d, 0xff},
	theme.ColorNameInputBorder:         colourEdge,
	theme.ColorNameMenuBackground:      colourPanel,
	theme.ColorNameOverlayBackground:   colourPanel,
	theme.ColorNamePlaceHolder:         colourMuted,
	theme.ColorNamePressed:             {0xf6, 0xee, 0xe2, 0x38},
	theme.ColorNamePrimary:             colourHoney,
	theme.ColorNameScrollBar:           {0xc6, 0xb8, 0xa7, 0xa0},
	theme.ColorNameScrollBarBackground: colourPanel,
	theme.ColorNameSelection:           {0xf2, 0xb9, 0x66, 0x55},
	theme.ColorNameSeparator:           {0x3a, 0x31, 0x2a, 0xff},
	theme.ColorNameShadow:              colourVeil,
	theme.ColorNameSuccess:             colourFine,
	theme.ColorNameWarning:             colourHoney,
}

// Text sizes are larger than a desk program's usual ones: the screen stands at
// arm's length.
const (
	sizeText    = 15
	sizeCaption = 13
	sizeValue   = 20
	sizeLine    = 18
	sizeHead    = 20
)

var themeSizes = map[fyne.ThemeSizeName]float32{
	theme.SizeNameText:           sizeText,
	theme.SizeNameCaptionText:    sizeCaption,
	theme.SizeNameSubHeadingText: sizeLine,
	theme.SizeNameHeadingText:    sizeHead,
	theme.SizeNameInputRadius:    3,
	theme.SizeNameInnerPadding:   7,
	// No blur behind dialogs: without a graphics card it takes half a second a
	// frame.
	theme.SizeNameModalBlurRadius: 0,
}

// Color returns the colour of a part of a widget.
func (Theme) Color(name fyne.ThemeColorName, _ fyne.ThemeVariant) color.Color {
	if c, ok := themeColours[name]; ok {
		return c
	}
	return theme.DefaultTheme().Color(name, theme.VariantDark)
}

// Font returns the toolkit's own font.
func (Theme) Font(style fyne.TextStyle) fyne.Resource { return theme.DefaultTheme().Font(style) }

// Icon returns the toolkit's own icon.
func (Theme) Icon(name fyne.ThemeIconName) fyne.Resource { return theme.DefaultTheme().Icon(name) }

// Size returns the size of a part of a widget.
func (Theme) Size(name fyne.ThemeSizeName) float32 {
	if s, ok := themeSizes[name]; ok {
		return s
	}
	return theme.DefaultTheme().Size(name)
}
