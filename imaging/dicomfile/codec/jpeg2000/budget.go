package jpeg2000

// A budget bounds what one Decode may allocate and how long it may look at
// headers. A header of a hundred bytes can claim gigabytes; a real image of
// any dental use stays far below these figures.
type budget struct {
	bytes  int64
	visits int64 // code-blocks and precincts looked at by packet headers
}

// Of the 64 MiB + 40 × length that the package promises, what the code counts
// here leaves 8 MiB + 4 × length to the scratch memory of the workers, to the
// growth of small slices and to allocation sizes that are rounded up.
const (
	budgetBase      = 56 << 20
	budgetPerByte   = 36
	visitsBase      = 1 << 23 // about a tenth of a second
	visitsPerByte   = 16
	maxStreamLength = 1 << 30 // offsets are 32-bit integers
)

func newBudget(length int) *budget {
	return &budget{
		bytes:  budgetBase + budgetPerByte*int64(length),
		visits: visitsBase + visitsPerByte*int64(length),
	}
}

// take charges n items of size bytes each, before they are allocated.
func (b *budget) take(n, size int64, what string) error {
	if n < 0 || size < 0 || (n > 0 && size > b.bytes/n) {
		return unsupported("its %s take more memory than a file of this length may ask for; if the image is right, export it uncompressed", what)
	}
	b.bytes -= n * size
	return nil
}

// visit charges n steps through packet headers.
func (b *budget) visit(n int) error {
	b.visits -= int64(n)
	if b.visits < 0 {
		return unsupported("its packets describe far more code-blocks than their bytes could code; if the image is right, export it uncompressed")
	}
	return nil
}
