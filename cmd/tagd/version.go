package main

import (
	"fmt"
	"runtime"
	"runtime/debug"

	"tagd/internal/view"
)

// version is one line about the program, from what the Go toolchain wrote into it.
func version() string {
	revision, day, changed := "of no known revision", "", ""
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, s := range info.Settings {
			switch {
			case s.Key == "vcs.revision":
				revision = s.Value[:min(12, len(s.Value))]
			case s.Key == "vcs.time":
				day = " of " + s.Value[:min(10, len(s.Value))]
			case s.Key == "vcs.modified" && s.Value == "true":
				changed = ", changed since"
			}
		}
	}
	return fmt.Sprintf("tagd %s%s%s; %s %s/%s; views version %d",
		revision, day, changed, runtime.Version(), runtime.GOOS, runtime.GOARCH, view.Version)
}
