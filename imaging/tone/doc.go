// Package tone turns stored grey values into what the eye sees: window and
// level, inversion, and the visible part of a radiograph at any zoom, in device
// pixels. Start with [NewPicture], choose a [Window] with [Start], fit a [View]
// with [Fit] and call [Renderer.Draw] for each frame.
//
// Units: grey values as in imaging.Image.Pix; a [View] maps image pixels to
// device pixels, pixel centres at integers on both sides. A picture shown
// smaller than 1:1 is averaged over the area of each device pixel, larger it is
// interpolated linearly between pixel centres.
//
// The package changes the view alone. Nothing here is ever measured: lengths
// come from marks in image pixels, grey-level findings from the stored values.
package tone
