package desk

// showSettings shows what the user can set.
func (d *Desk) showSettings() {}
