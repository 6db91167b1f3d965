package deed

import "antidotary/compliance"

// EnclosureOpened records that somebody opened an enclosure in an emergency,
// whatever the records said. Recapture and rescue are never blocked by
// paperwork; that it was done, and why, is written down.
func EnclosureOpened(a compliance.Activity) Deed {
	a.What = compliance.OpeningEmergency
	return put(WordsEnclosureOpened, a)
}
