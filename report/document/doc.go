// Package document writes the validation document: a PDF for the engineer who
// will check the claim. Verdict first, then pictures and numbers, then
// everything that is needed to doubt them: set-up, plan, every pull, remarks,
// and the checksums of the raw files.
//
// The typeface stands inside the file and carries Latin, Greek and Cyrillic;
// other letters are spelled out by code point, never blank boxes. Dates are
// the study's, so the same study gives the same bytes.
//
// This is the only package that imports fpdf.
package document
