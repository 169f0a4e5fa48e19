// Package desk is the window of the program: the stage strip with the images
// of a case in order of treatment, the image bench where one of them is looked
// at and marked, and the worksheet with a row for each canal and lesion. Start
// with [New], then [Desk.OpenCase], [Desk.OpenFiles] or [Desk.OpenLast]. Before
// them comes the home, the screen with all cases (home.go), which hides the
// desk while it is shown.
//
// How it works: marks are changed in one way only, by a step of the casebook
// ([casebook.Case.Edit]), once for each finished gesture; while a gesture is
// under way a draft of the marks is computed and drawn. What a press of the
// mouse means is decided in hand.go, what a key means in keys.go; both know
// nothing of pixels on the screen. The bench turns its events into image
// positions and draws everything, marks included, into one frame.
//
// Units: marks in image pixels (pixel centres at integers), positions on the
// bench in device pixels, sizes of widgets in the toolkit's logical pixels.
//
// The desk opens no file and computes no number: files come through
// [Options.ReadFile], findings from package reading, words about numbers from
// package wording. It never logs: what it shows may be about a patient. It
// runs on the toolkit's main goroutine; decoding runs beside it and comes back
// through fyne.Do.
package desk
