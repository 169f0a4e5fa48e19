// Package assets holds what is built into the program besides code: its icon,
// drawn for it, and the translations of the window. Nothing here comes from a
// person or from another program.
package assets

import "embed"

// Icon is the program's icon, an SVG of 128 by 128: a root with its canal, the
// apex marked as on the bench, and a rule beside it.
//
//go:embed rootrule.svg
var Icon []byte

// Translations has translations/CODE.json for each language but English.
//
//go:embed translations/*.json
var Translations embed.FS
