// Package deploy holds what comes along with the program: the rule packs, and
// what operators copy.
//
// The packs are examples to check against the law in force. The order in
// which that must be read: nothing from memory is shipped as law; each rule
// cites its source with an edition and how well it was checked; each pack says
// what it does not cover, and a place that no pack speaks for is "cannot
// tell". Packs of one's own stand beside these, or in their place.
package deploy

import (
	"embed"
	"io/fs"
)

//go:embed rules/*.yaml
var rules embed.FS

// Rules gives the folder of rule packs.
func Rules() fs.FS {
	folder, err := fs.Sub(rules, "rules")
	if err != nil { // the folder is embedded
		panic(err)
	}
	return folder
}
