//go:build ci

package main

import "errors"

// openWindow says that a program built with the tag ci has none: that build
// does without the system's graphics libraries.
func openWindow(windowOptions) error {
	return errors.New("open the window: this build has no window: use its commands, see --help")
}
