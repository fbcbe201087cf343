package page

import (
	"fmt"
	"net/http"

	"griptrial/acquire/bench"
	"griptrial/analysis"
	"griptrial/analysis/trial"
)

// blind says why the results are not shown by themselves.
const blind = "Who knows which facing leads may pull otherwise without wishing to; that you looked is kept with the study."

// look answers POST /results: the facings' results so far, to who has the say.
func (s *Server) look(w http.ResponseWriter, r *http.Request) {
	c, from, ok := s.take(w, r)
	if !ok {
		return
	}
	if c.Do != "look" && c.Do != "" {
		refuse(w, http.StatusBadRequest, "the results are asked for with \"look\"", s.hub.step())
		return
	}
	if status := stepless(c.Step); status != 0 {
		refuse(w, status, "a command carries the step of the state that was seen", s.hub.step())
		return
	}
	reply, ok := s.ask(w, r, from, bench.Command{Verb: bench.Look, Step: c.Step})
	if !ok {
		return
	}
	s.results.Lock()
	defer s.results.Unlock()
	s.hub.mu.Lock()
	v := s.hub.view
	s.hub.mu.Unlock()
	answer(w, results(reply.Readings, s.options.Setup, v.Done, v.Planned))
}

// results works out what the pulls so far say of each facing.
func results(readings []trial.Reading, setup trial.Study, done, planned int) Results {
	out := Results{Text: fmt.Sprintf("%d of %d planned pulls. %s", done, planned, blind)}
	found, err := analysis.Analyse(readings, setup, analysis.Options{})
	for _, f := range setup.Facings {
		row := Result{Facing: f.Name, Control: f.Control}
		for _, r := range readings {
			if r.Facing != f.Name {
				continue
			}
			switch r.Outcome {
			case trial.Slipped:
				row.Slipped++
			case trial.Held:
				row.Held++
			case trial.Void:
				row.Void++
			}
		}
		for _, a := range found.AgainstControl {
			if a.Facing == f.Name {
				row.Ratio, row.Lower, row.Upper = number(float64(a.Ratio)), number(float64(a.Lower)), number(float64(a.Upper))
			}
		}
		switch {
		case f.Control:
			row.Text = "the control"
		case err != nil:
			row.Text = err.Error()
		case row.Ratio == nil:
			row.Text = "not enough pulls yet for a ratio"
		case row.Lower == nil:
			row.Text = "not enough pulls yet to say how sure this is"
		}
		out.Facings = append(out.Facings, row)
	}
	return out
}
