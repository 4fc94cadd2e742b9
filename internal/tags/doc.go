// Package tags knows the numbers that things carry and the texts that their tags hold.
package tags
