// Command tagd keeps the tags of a rebar shop and what became of every bundle: which bar list it is
// from, which heats it was cut from, and which truck took it. "tagd help" begins the explanation.
package main

import (
	"context"
	"os"
	_ "time/tzdata" // a plant's time zone is known on every machine
)

func main() { os.Exit(run(context.Background(), os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }
