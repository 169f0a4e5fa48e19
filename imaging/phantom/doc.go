// Package phantom makes periapical radiographs whose truth is known exactly:
// tests measure against them, benchmarks load them, and the demo case that a
// new user sees first is one. Start with [NewSpec] and [Periapical] for one
// tooth with one canal, or with [Demo] for the demo case of three exposures.
//
// How a picture is made: the object lies in a plane measured in millimetres
// ([MM]); a [Projection] (pixel pitch, magnification, foreshortening and a
// projective warp) takes it to pixels. Every pixel is mapped back into the
// plane and the path lengths through enamel, dentine, bone and metal are
// evaluated there, so nothing is interpolated and the truth holds to rounding
// error. Beer–Lambert attenuation, scatter, the point spread function, quantum
// and electronic noise and the tone curve follow, in this order.
//
// Units: the object plane in mm (x to the right, y down, (0,0) at the middle of
// the picture), angles in degrees, marks in pixels as everywhere (pixel centres
// at integers). Grey convention: bright is dense, as MONOCHROME2.
//
// Equal seeds give equal pixels on one kind of processor; on another the last
// bit of a float may differ, and with it a grey value here and there.
//
// What it does not do: it models no spectrum, no beam hardening and no detector
// artefacts, the bone is a texture and not a patient's, and a canal has one
// depth, so that its truth in the plane stays exact. No picture or shape of a
// real person went into it.
package phantom
