// Package dicomfile reads DICOM files: what the header says and the samples of
// each frame, from every dialect and compression that dental images come in.
// Start with [Open], or [Read] when the bytes are at hand; [Sniff] tells DICOM
// from other files. A [File] then has its [Description], and
//
//   - [File.Frame], the stored samples of one frame, decoded alone;
//   - [File.Spacing], the pixel spacing in mm and how far to trust it;
//   - [File.Plane], [File.Windows] and [File.Rescale] of a frame;
//   - [File.Identity], the patient, read apart.
//
// [Scan] turns a folder, a DICOMDIR or a list of files into [Series] of slices
// in order.
//
// One guarded door leads in. Header values are parsed by the library
// github.com/suyashkumar/dicom, but what a file holds is first walked over
// here: every length is checked against the file, nesting is bounded, and the
// elements the program wants are written out anew as plain explicit VR little
// endian, which is all the library ever sees. Pixels never pass through it.
// Memory stays within 64 MB plus 40 times the size of the file, whatever that
// claims to hold. A damaged file is an error that matches fault.ErrMalformed,
// never a smaller picture or fewer frames.
//
// Samples are returned as stored: no rescale, no window, no inversion of
// MONOCHROME1. Coordinates: row-major, pixel centres at integers, (0,0) the
// centre of the top-left pixel; in the patient, LPS in mm.
//
// The package does not write, does not speak to servers, and reads no overlay
// planes, structured reports, video or floating-point pixels.
package dicomfile
