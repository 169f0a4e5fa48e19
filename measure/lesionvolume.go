package measure

const volumeMethod = "as measured in the volume and recorded with the lesion"

// volume adds a recorded volume.
func (w *work) volume(s subject, l Lesion) {
	if l.VolumeMM3 != nil {
		s.cautions, s.made = nil, nil
		s.add(WhatVolume, l.volume(w).quantity(CubicMillimetre), volumeMethod)
	}
}

// DefaultVolume is the relative standard uncertainty of a volume recorded
// without one. Common practice, no source.
const DefaultVolume = 0.05

func (l Lesion) volume(w *work) estimate {
	u := DefaultVolume * *l.VolumeMM3
	if l.VolumeUMM3 != nil {
		u = *l.VolumeUMM3
	}
	return known(*l.VolumeMM3, u, w.source())
}
