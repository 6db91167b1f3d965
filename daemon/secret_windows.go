package daemon

import "io/fs"

// othersMayRead cannot tell here: permissions are in an access control list,
// and the mode that Go shows is made up (package os, FileMode; from memory).
// The README says to keep password files in a folder of the service's account.
func othersMayRead(fs.FileInfo) bool { return false }
