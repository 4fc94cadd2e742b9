//go:build race

package main

// raced says whether the tests run with the race detector.
const raced = true
