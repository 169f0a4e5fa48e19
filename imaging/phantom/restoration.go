package phantom

// A crown's state: what is softened or cut away, and what fills it.

// deepCaries reaches from the distal side and the occlusal fissure to the pulp.
func deepCaries(r *random) (carious, restored *cavity) {
	return &cavity{
		rooms: []room{{1.0, 0.4, 2.8, 3.4, 0.9}, {1.9, 2.4, 5.5, 5.0, 1.2}},
		edge:  0.3, loss: 0.6, rough: newLattice(r), roughness: 0.6,
	}, nil
}

// openAccess is the way cut through the crown to the canals, beside a distal
// wall built up before treatment.
func openAccess(r *random) (carious, restored *cavity) {
	return &cavity{
			rooms: []room{{-2.5, -1, 2.1, 7.2, 0.8}},
			edge:  0.16, loss: 0.5, rough: newLattice(r), roughness: 0.25,
		}, &cavity{
			rooms: []room{{2.5, 1.0, 5.1, 5.0, 0.9}},
			edge:  0.07, depth: 5.4, rough: newLattice(r), roughness: 0.3,
		}
}

// buildUp is composite over the filled canals.
func buildUp(r *random) (carious, restored *cavity) {
	return nil, &cavity{
		rooms: []room{{-2.4, 1.0, 2.2, 7.0, 0.8}, {1.6, 1.2, 5.12, 5.0, 0.9}},
		edge:  0.07, depth: 5.6, rough: newLattice(r), roughness: 0.3,
	}
}

// amalgam fills two surfaces of the neighbour.
func amalgam(r *random) *cavity {
	return &cavity{
		rooms: []room{{-2.6, 0.9, 3.4, 2.9, 0.7}, {2.7, 1.3, 5.45, 4.6, 0.8}},
		edge:  0.05, depth: 2.2, metal: true, rough: newLattice(r), roughness: 0.45,
	}
}
