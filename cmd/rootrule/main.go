// Rootrule measures root canals on radiographs. Without a command it opens
// its window; see rootrule --help.
package main

import (
	"flag"
	"fmt"
	"os"
	"slices"

	"rootrule/app/headless"
)

// version is set when a package is made.
var version = "development"

func main() {
	if slices.Equal(os.Args[1:], []string{"--version"}) {
		fmt.Println("rootrule", version)
		return
	}
	if headless.IsCommand(os.Args[1:]) {
		os.Exit(headless.Run(os.Args[1:], os.Stdout, os.Stderr))
	}
	opts, err := windowFlags(os.Args[1:])
	if err == nil {
		err = openWindow(opts)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "rootrule:", err)
		os.Exit(1)
	}
}

// windowOptions say what the window opens on.
type windowOptions struct {
	casebook string   // SQLite file; empty: the user's own
	demo     bool     // open the demo case
	probe    string   // file that driven tests read the window's state from
	images   []string // image files to open
}

func windowFlags(args []string) (windowOptions, error) {
	var o windowOptions
	f := flag.NewFlagSet("rootrule", flag.ContinueOnError)
	f.StringVar(&o.casebook, "casebook", "", "casebook file")
	f.BoolVar(&o.demo, "demo", false, "open the demo case")
	f.StringVar(&o.probe, "probe", "", "write the window's state to this file, for tests")
	err := f.Parse(args)
	o.images = f.Args()
	return o, err
}
