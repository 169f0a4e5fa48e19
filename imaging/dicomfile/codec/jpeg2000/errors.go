package jpeg2000

import "rootrule/imaging/fault"

func malformed(format string, args ...any) error {
	return fault.Malformed("decoding JPEG 2000: "+format, args...)
}

func unsupported(format string, args ...any) error {
	return fault.Unsupported("decoding JPEG 2000: "+format, args...)
}

// errCut is a packet, segment or tile-part that needs more bytes than there
// are.
func errCut(what string, need, have int) error {
	return malformed("%s needs %d bytes and %d are left: the file is cut short or damaged, copy or export it again",
		what, need, have)
}
