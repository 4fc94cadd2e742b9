// Package archtest holds the map of the house as a test: which package may import which, and what
// the rooms that decide must do without. It has no code of its own. The map is the table in
// house_test.go; a new package gets a row there, and the test says so until it has one.
package archtest
