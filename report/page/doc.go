// Package page writes the report as one self-contained HTML page.
//
// The shop card comes first, then the pictures, the numbers, every trace,
// every pull, and how it was found. The page loads nothing: style and pictures
// stand inside, and its content policy forbids the rest. It follows a dark
// screen, prints the card on a sheet of its own, and reads from 390 px up.
package page
