package measure

// Names of findings, as they stand in Finding.What and in the findings file.
const (
	WhatScale                 = "scale"
	WhatElongation            = "elongation"
	WhatLength                = "length"
	WhatWorkingLength         = "working_length"
	WhatEALDifference         = "eal_difference"
	WhatFileLength            = "file_length"
	WhatUsedDifference        = "used_difference"
	WhatConeFitDifference     = "cone_fit_difference"
	WhatFilledDifference      = "filled_difference"
	WhatSchneiderAngle        = "schneider_angle"
	WhatWeineAngle            = "weine_angle"
	WhatPruettAngle           = "pruett_angle"
	WhatPruettRadius          = "pruett_radius"
	WhatAccessAngle           = "access_angle"
	WhatMaxCurvature          = "max_curvature"
	WhatCurveStartFromApex    = "curve_start_from_apex"
	WhatCurveStartFromOrifice = "curve_start_from_orifice"
	WhatMaxCurvatureFromApex  = "max_curvature_from_apex"
	WhatCurvedLength          = "curved_length"
	WhatSecondAngle           = "second_angle"
	WhatSecondRadius          = "second_radius"
	WhatArea                  = "area"
	WhatLongestDiameter       = "longest_diameter"
	WhatPerpendicularDiameter = "perpendicular_diameter"
	WhatEquivalentDiameter    = "equivalent_diameter"
	WhatContrast              = "contrast"
	WhatFillingToApex         = "filling_to_apex"
	WhatObstructionLength     = "obstruction_length"
	WhatObstructionDepth      = "obstruction_depth"
	WhatObstructionToApex     = "obstruction_to_apex"
	WhatDepthSeparation       = "depth_separation"
	WhatTrueAngle             = "true_angle"
	WhatAlignmentResidual     = "alignment_residual"
	WhatAreaChangePercent     = WhatAreaChange + percentSuffix
	WhatAreaChangePerYear     = WhatAreaChange + perYearSuffix
	WhatDiameterChangePercent = WhatDiameterChange + percentSuffix
	WhatDiameterChangePerYear = WhatDiameterChange + perYearSuffix
	WhatVolumeChangePercent   = WhatVolumeChange + percentSuffix
	WhatVolumeChangePerYear   = WhatVolumeChange + perYearSuffix
	WhatAreaChange            = "area_change"
	WhatDiameterChange        = "diameter_change"
	WhatVolume                = "volume"
	WhatVolumeChange          = "volume_change"
	WhatConfluenceFromApex    = "confluence_from_apex"
	WhatCanalDistance         = "canal_distance"
)
