package measure

// Names of findings, as they stand in Finding.What and in the findings file,
// with their units. Lengths and areas on an image without a calibration are in
// px and px².
const (
	WhatScale      = "scale"      // mm/px
	WhatElongation = "elongation" // %, image longer than the object along a known file

	WhatLength            = "length"              // mm, of a canal
	WhatWorkingLength     = "working_length"      // mm, estimated
	WhatFileLength        = "file_length"         // mm, stock file longer than that
	WhatEALDifference     = "eal_difference"      // mm, apex locator − radiograph
	WhatUsedDifference    = "used_difference"     // mm, working length used − estimated
	WhatConeFitDifference = "cone_fit_difference" // mm, cone fit − length used
	WhatFilledDifference  = "filled_difference"   // mm, filled length − length used

	WhatSchneiderAngle        = "schneider_angle"          // deg
	WhatWeineAngle            = "weine_angle"              // deg
	WhatPruettAngle           = "pruett_angle"             // deg
	WhatPruettRadius          = "pruett_radius"            // mm
	WhatAccessAngle           = "access_angle"             // deg
	WhatMaxCurvature          = "max_curvature"            // 1/mm
	WhatMaxCurvatureFromApex  = "max_curvature_from_apex"  // mm
	WhatCurveStartFromApex    = "curve_start_from_apex"    // mm
	WhatCurveStartFromOrifice = "curve_start_from_orifice" // mm
	WhatCurvedLength          = "curved_length"            // mm
	WhatSecondAngle           = "second_angle"             // deg, of an S-shaped canal
	WhatSecondRadius          = "second_radius"            // mm, of an S-shaped canal

	WhatCanalDistance      = "canal_distance"       // mm, mean of two centre lines
	WhatConfluenceFromApex = "confluence_from_apex" // mm
	WhatDepthSeparation    = "depth_separation"     // mm, from two views
	WhatTrueAngle          = "true_angle"           // deg, Schneider's in three dimensions

	WhatArea                  = "area"                   // mm²
	WhatLongestDiameter       = "longest_diameter"       // mm
	WhatPerpendicularDiameter = "perpendicular_diameter" // mm
	WhatEquivalentDiameter    = "equivalent_diameter"    // mm
	WhatContrast              = "contrast"               // noise SD
	WhatVolume                = "volume"                 // mm³

	WhatAlignmentResidual          = "alignment_residual"                    // mm
	WhatAreaChange                 = "area_change"                           // mm²
	WhatAreaChangePercent          = WhatAreaChange + percentSuffix          // %
	WhatAreaChangePerYear          = WhatAreaChange + perYearSuffix          // mm² a year
	WhatAreaChangeDetectable       = WhatAreaChange + detectableSuffix       // mm², seen with a power of 90 %
	WhatDiameterChange             = "diameter_change"                       // mm, of the longest diameter
	WhatDiameterChangePercent      = WhatDiameterChange + percentSuffix      // %
	WhatDiameterChangePerYear      = WhatDiameterChange + perYearSuffix      // mm a year
	WhatDiameterChangeDetectable   = WhatDiameterChange + detectableSuffix   // mm, seen with a power of 90 %
	WhatEquivalentChange           = "equivalent_diameter_change"            // mm
	WhatEquivalentChangePercent    = WhatEquivalentChange + percentSuffix    // %
	WhatEquivalentChangePerYear    = WhatEquivalentChange + perYearSuffix    // mm a year
	WhatEquivalentChangeDetectable = WhatEquivalentChange + detectableSuffix // mm, seen with a power of 90 %
	WhatVolumeChange               = "volume_change"                         // mm³
	WhatVolumeChangePercent        = WhatVolumeChange + percentSuffix        // %
	WhatVolumeChangePerYear        = WhatVolumeChange + perYearSuffix        // mm³ a year
	WhatVolumeChangeDetectable     = WhatVolumeChange + detectableSuffix     // mm³, seen with a power of 90 %
	WhatLengthChange               = "length_change"                         // mm, of a canal
	WhatLengthChangePercent        = WhatLengthChange + percentSuffix        // %
	WhatLengthChangePerYear        = WhatLengthChange + perYearSuffix        // mm a year
	WhatLengthChangeDetectable     = WhatLengthChange + detectableSuffix     // mm, seen with a power of 90 %
	WhatFillingChange              = "filling_change"                        // mm, of the distance to the apex
	WhatFillingChangePerYear       = WhatFillingChange + perYearSuffix       // mm a year
	WhatFillingChangeDetectable    = WhatFillingChange + detectableSuffix    // mm, seen with a power of 90 %

	WhatFillingToApex = "filling_to_apex" // mm, negative beyond
	WhatFillingRatio  = "filling_ratio"   // 1
	WhatFillingTaper  = "filling_taper"   // 1, mm/mm
	WhatVoidArea      = "void_area"       // mm²
	WhatVoidCount     = "void_count"      // 1
	WhatPostLength    = "post_length"     // mm
	WhatPostToRoot    = "post_to_root"    // 1
	WhatPostToCrown   = "post_to_crown"   // 1
	WhatApicalSeal    = "apical_seal"     // mm, root filling left below a post

	WhatObstructionLength     = "obstruction_length"      // mm
	WhatObstructionDepth      = "obstruction_depth"       // mm
	WhatObstructionToApex     = "obstruction_to_apex"     // mm
	WhatStraightToObstruction = "straight_to_obstruction" // mm, positive when straight access reaches it
	WhatObstructionToCanal    = "obstruction_to_canal"    // mm
	WhatDentine               = "dentine"                 // mm; dentine_1, dentine_2 … for each mark on the root surface
)
