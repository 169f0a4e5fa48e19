package dicomfile

import "github.com/suyashkumar/dicom/pkg/tag"

// wanted maps each tag the program reads to its value representation in the
// data dictionary (PS3.6). Everything else in a file is walked over and never
// copied: private elements, icons, workflow, comments.
var wanted = dictionary(
	// What the image is, and when it was taken.
	tag.SpecificCharacterSet, tag.ImageType, tag.SOPClassUID, tag.SOPInstanceUID, tag.Modality,
	tag.StudyDate, tag.SeriesDate, tag.AcquisitionDate, tag.ContentDate, tag.AcquisitionDateTime,
	tag.StudyTime, tag.SeriesTime, tag.AcquisitionTime, tag.ContentTime,
	tag.Manufacturer, tag.ManufacturerModelName, tag.SeriesDescription,
	tag.StudyInstanceUID, tag.SeriesInstanceUID, tag.SeriesNumber, tag.InstanceNumber,
	// Whom it shows: read apart, see Identity.
	tag.PatientName, tag.PatientID, tag.PatientBirthDate, tag.PatientSex,
	// Where in the body.
	tag.BodyPartExamined, tag.AnatomicRegionSequence, tag.AnatomicRegionModifierSequence,
	tag.PrimaryAnatomicStructureSequence, tag.PrimaryAnatomicStructureModifierSequence,
	tag.CodeValue, tag.CodingSchemeDesignator, tag.CodeMeaning,
	tag.Laterality, tag.ImageLaterality, tag.FrameLaterality, tag.FrameAnatomySequence,
	// How it was exposed.
	tag.KVP, tag.ExposureTime, tag.XRayTubeCurrent, tag.Exposure, tag.ExposureInuAs,
	tag.DistanceSourceToDetector, tag.DistanceSourceToPatient, tag.DetectorType,
	tag.ViewPosition, tag.PatientPosition, tag.GantryDetectorTilt, tag.BurnedInAnnotation,
	// Geometry.
	tag.EstimatedRadiographicMagnificationFactor, tag.ImagerPixelSpacing, tag.NominalScannedPixelSpacing,
	tag.PixelSpacing, tag.PixelSpacingCalibrationType, tag.PixelSpacingCalibrationDescription,
	tag.PixelAspectRatio, tag.SliceThickness, tag.SpacingBetweenSlices,
	tag.PatientOrientation, tag.ImagePositionPatient, tag.ImageOrientationPatient, tag.FrameOfReferenceUID,
	tag.SharedFunctionalGroupsSequence, tag.PerFrameFunctionalGroupsSequence, tag.PixelMeasuresSequence,
	tag.PlanePositionSequence, tag.PlaneOrientationSequence, tag.FrameVOILUTSequence,
	tag.PixelValueTransformationSequence,
	// Pixels.
	tag.SamplesPerPixel, tag.PhotometricInterpretation, tag.PlanarConfiguration, tag.NumberOfFrames,
	tag.Rows, tag.Columns, tag.BitsAllocated, tag.BitsStored, tag.HighBit, tag.PixelRepresentation,
	tag.PixelPaddingValue, tag.PixelPaddingRangeLimit,
	tag.LossyImageCompression, tag.LossyImageCompressionRatio,
	tag.RedPaletteColorLookupTableDescriptor, tag.GreenPaletteColorLookupTableDescriptor,
	tag.BluePaletteColorLookupTableDescriptor, tag.RedPaletteColorLookupTableData,
	tag.GreenPaletteColorLookupTableData, tag.BluePaletteColorLookupTableData,
	tag.SegmentedRedPaletteColorLookupTableData, tag.SegmentedGreenPaletteColorLookupTableData,
	tag.SegmentedBluePaletteColorLookupTableData,
	// Grey scale.
	tag.WindowCenter, tag.WindowWidth, tag.WindowCenterWidthExplanation, tag.VOILUTFunction,
	tag.RescaleIntercept, tag.RescaleSlope, tag.RescaleType, tag.PresentationLUTShape,
	tag.ModalityLUTSequence, tag.VOILUTSequence, tag.LUTDescriptor, tag.LUTExplanation,
	tag.ModalityLUTType, tag.LUTData,
	// DICOMDIR.
	tag.DirectoryRecordSequence, tag.DirectoryRecordType, tag.ReferencedFileID,
)

// overlayWanted are the elements of an overlay group 60xx that name it
// (PS3.3 C.9.2). Overlay planes themselves are not read.
var overlayWanted = map[uint16]string{0x0010: "US", 0x0011: "US", 0x0022: "LO", 0x0040: "CS", 0x1500: "LO"}

func dictionary(tags ...tag.Tag) map[tag.Tag]string {
	vrs := make(map[tag.Tag]string, len(tags))
	for _, t := range tags {
		vrs[t] = tag.MustFind(t).VRs[0]
	}
	vrs[tag.LUTData] = "OW" // "US or OW": a table of 65,536 entries fits only OW
	return vrs
}

// wantedVR returns the dictionary's value representation of a tag the program
// reads, and false for any other tag.
func wantedVR(t tag.Tag) (string, bool) {
	if isOverlay(t) {
		vr, ok := overlayWanted[t.Element]
		return vr, ok
	}
	vr, ok := wanted[t]
	return vr, ok
}

// isOverlay reports whether t lies in one of the sixteen overlay groups
// 6000, 6002, …, 601E (PS3.5 7.6).
func isOverlay(t tag.Tag) bool { return t.Group&^0x001E == 0x6000 }
