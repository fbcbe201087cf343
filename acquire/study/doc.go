// Package study keeps a study folder: what is asked, the run order, the ledger
// of pulls and their traces, in plain files that any tool can read.
//
//	study.toml       what is asked and how it is rigged; a person edits it
//	plan.csv         the run order as drawn, with its seed
//	pulls.csv        the ledger: one row a pull, appended and synced, never rewritten
//	bench.csv        checks, weights hung and marks moved at the vise, likewise appended
//	traces/0007.csv  the record of pull 7, read-only once saved
//	calibrations/    weights hung and counts read
//	reports/         what the report command writes
//
// A pull is saved when its trace is on disk (temporary file, sync, rename, sync
// of the folder) and then its ledger row is appended and synced: in that order,
// so that a row never points at a missing trace. A correction is a new row that
// supersedes the pull's earlier one and says why. Every row ends in a checksum,
// and carries the SHA-256 of its trace.
//
// The layout is version 1 (Format). A folder made by any released version stays
// readable for ever; a folder made by a newer one is refused, saying so.
package study

// Format is the layout version that this package writes.
const Format = 1

// Names inside a study folder.
const (
	SetupFile       = "study.toml"
	PlanFile        = "plan.csv"
	LedgerFile      = "pulls.csv"
	TraceDir        = "traces"
	CalibrationDir  = "calibrations"
	ReportDir       = "reports"
	lockFile        = ".lock"
	holderFile      = ".writer"
	unfinishedAfter = ".part" // a trace that is being recorded
)
