package phantom

// The states of the demo tooth's crown.

// deepCaries is a lesion from the distal side and the occlusal surface to the
// pulp.
func deepCaries(r *random) *cavity {
	return &cavity{
		rooms: []room{{0.6, 0.2, 3.4, 3.6, 1.0}, {1.6, 2.4, 5.6, 5.3, 1.2}},
		edge:  0.28, loss: 0.62, rough: newLattice(r),
	}
}

// openAccess is the cavity cut through the crown to the canals.
func openAccess() *cavity {
	return &cavity{
		rooms: []room{{-2.6, -1, 2.9, 6.0, 0.6}, {1.6, -1, 5.8, 4.9, 0.7}},
		edge:  0.06, loss: 0.72,
	}
}

// build-up of composite after root filling.
func buildUp() *cavity {
	return &cavity{
		rooms: []room{{-2.6, 0.9, 2.9, 7.6, 0.6}, {1.6, 1.1, 5.15, 4.9, 0.7}},
		edge:  0.06, depth: 6.2,
	}
}

// amalgam in two surfaces of the neighbour.
func amalgam() *cavity {
	return &cavity{
		rooms: []room{{-2.2, 0.6, 3.6, 3.0, 0.5}, {2.9, 1.2, 5.45, 5.0, 0.6}, {-0.6, 0.6, 0.9, 3.5, 0.4}},
		edge:  0.04, depth: 4.5, metal: true,
	}
}
