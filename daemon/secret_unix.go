//go:build unix

package daemon

import "io/fs"

// othersMayRead says whether the group or the world has any permission.
func othersMayRead(info fs.FileInfo) bool { return info.Mode().Perm()&0o077 != 0 }
