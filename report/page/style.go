package page

// Style is the style sheet of every page of ours.
func Style() string { return style }
