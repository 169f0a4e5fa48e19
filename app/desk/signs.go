package desk

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"
)

// sign makes the sign of a tool from a path in a square of 24. It takes the
// colour of the letters of its button. What is a hole turns the other way
// round than what it is in.
func sign(name, path string) fyne.Resource {
	const head = `<svg xmlns="http://www.w3.org/2000/svg" width="24" height="24" viewBox="0 0 24 24"><path fill="#000000" d="`
	return theme.NewThemedResource(fyne.NewStaticResource(name+".svg", []byte(head+path+`"/></svg>`)))
}

// The signs of the tools, drawn for this program.
var (
	// Two bars and the distance between them.
	signCalibrate = sign("calibrate", "M2 5h2v14H2zM20 5h2v14h-2zM4 11h16v2H4z")
	// A curved line from a bar down to a tip.
	signCanal = sign("canal", "M5 2h9v2h-9zM8.5 4h2.2C10.7 11 12 15 18 20l-1.4 1.6C10 16 8.5 11.5 8.5 4z")
	// A closed line of dots.
	signLesion = sign("lesion", "M10.5 2h3v3h-3zM10.5 19h3v3h-3zM2 10.5h3v3H2zM19 10.5h3v3h-3z"+
		"M4.5 4.5h3v3h-3zM16.5 4.5h3v3h-3zM4.5 16.5h3v3h-3zM16.5 16.5h3v3h-3z")
	// A cross: more of them.
	signMore = sign("more", "M10.5 4h3v6.5H20v3h-6.5V20h-3v-6.5H4v-3h6.5z")
	// Two frames beside each other.
	signCompare = sign("compare", "M2 4h9v16H2zM4 6v12h5V6zM13 4h9v16h-9zM15 6v12h5V6z")
	// A disc with rays.
	signBrightness = sign("brightness", "M8 12a4 4 0 0 1 8 0a4 4 0 0 1 -8 0zM11 1h2v4h-2zM11 19h2v4h-2zM1 11h4v2H1zM19 11h4v2h-4z"+
		"M4.2 5.6l1.4-1.4l2.8 2.8l-1.4 1.4zM15.6 17l1.4-1.4l2.8 2.8l-1.4 1.4zM15.6 7l2.8-2.8l1.4 1.4l-2.8 2.8zM4.2 18.4l2.8-2.8l1.4 1.4l-2.8 2.8z")
	// A frame whose half is filled.
	signInvert = sign("invert", "M3 4h18v16H3zM12 6v12h7V6z")
	// Squares that are filled and open in turn.
	signContrast = sign("contrast", "M3 3h18v18H3zM13 5v6h6V5zM5 13v6h6v-6z")
	// A wedge that comes to a point.
	signSharpen = sign("sharpen", "M12 2l9 19H3zM12 6.8v12.2h5.8z")
	// A grid.
	signRuler = sign("ruler", "M3 3h18v18H3zM5 5v6h6V5zM13 5v6h6V5zM5 13v6h6v-6zM13 13v6h6v-6z")
	// A curve over a level line.
	signProfile = sign("profile", "M2 20h20v2H2zM2 16.5C6 16.5 7 3 11 3c4 0 3.5 9 6 9c1.8 0 2.5-2.5 5-2.5v2.2c-1.5 0-2.4 2.5-5 2.5C12.500 14.200 13.500 5.200 11 5.200C8.500 5.200 7.500 18.700 2 18.700z")
	// Four corners of a frame.
	signFit = sign("fit", "M3 3h7v2.200H5.200V10H3zM14 3h7v7h-2.200V5.200H14zM3 14h2.200v4.800H10V21H3zM18.800 14H21v7h-7v-2.200h4.800z")
)
