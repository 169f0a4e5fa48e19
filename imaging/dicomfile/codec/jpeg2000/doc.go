// Package jpeg2000 decodes JPEG 2000 images (ITU-T T.800 | ISO/IEC 15444-1), as
// DICOM carries them in the transfer syntaxes 1.2.840.10008.1.2.4.90 (lossless)
// and .91 (lossy), and high-throughput ones (T.814 | 15444-15) of .201 to .203.
//
// Call [Decode] for the samples of one frame, or [ReadHeader] for its size and
// coding without decoding it. Both take a bare codestream or a JP2 file, whose
// boxes are searched for the codestream; colour boxes and palettes of a JP2
// file are not applied, because DICOM prescribes its own.
//
// A codestream passes through these files, in this order:
//
//	box.go, codestream.go, packed.go    markers and tile-parts (Annex A)
//	size.go, segment.go, params.go      sizes and coding parameters (Annex A)
//	geometry.go, progression.go         tiles, sub-bands, precincts, packet order (Annex B)
//	packet.go, tagtree.go, bitreader.go packet headers (B.10)
//	mq.go                               arithmetic decoder (Annex C)
//	block.go, passes.go, refine.go, context.go  coefficient bit modelling (Annex D)
//	htblock.go, htrefine.go, htbits.go  high-throughput blocks (T.814 clause 7)
//	quantise.go                         reconstruction of coefficients (Annexes E and H)
//	wavelet.go, wavelet53.go, wavelet97.go  inverse wavelet transform (Annex F)
//	colour.go                           component transform, level shift (Annex G)
//
// Everything that Part 1 allows is decoded: both wavelets and colour
// transforms, tiles and tile-parts, all progression orders and their changes,
// every code-block style, packed packet headers, regions of interest. Samples
// have 1 to 16 bits, signed or not, in 1 to 4 components of equal precision;
// components of lower resolution are enlarged by repeating their samples.
// High-throughput blocks may have one set of coding passes and may not be mixed
// with others. Anything else is [rootrule/imaging/fault.Unsupported].
//
// A codestream that lacks a packet or its end marker is
// [rootrule/imaging/fault.Malformed], never a partial picture. Memory is
// bounded by 64 MiB plus 40 times the length of the input, whatever a header
// claims, and work by the number of packets that the input can hold; so an
// image of more than some ten million samples needs a stream of some length.
//
// Coordinates in this package are the standard's: the reference grid, x right
// and y down, from which a component's samples are counted in integers.
package jpeg2000
