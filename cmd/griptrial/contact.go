package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"griptrial/analysis/contact"
	"griptrial/analysis/unit"
	"griptrial/report/figure"
)

// contactFlags are the settings of `contact`.
type contactFlags struct {
	patch, arm, direction, centre string
	figure                        string
	json                          bool
}

func contactCommand(a *app) *cobra.Command {
	var f contactFlags
	cmd := &cobra.Command{
		Use:   "contact --patch PATCH --arm LENGTH [flags]",
		Short: "How much of its friction a jaw face can use against an offset pull",
		Long: `contact finds the grip factor phi of one jaw face: the share of mu x N that
holds against a pull which does not run through the centre of pressure. It is 1
for a straight pull and less for any other, and mu = F/(2 x N x phi).

PATCH is ` + contact.Forms + `.
The origin is the geometric centre of the patch, x along the jaw, y up. The arm
is the signed moment arm of the pull about the origin, counter-clockwise
positive; the direction is the angle of the pull from +x. A part that sits high
or low presses off the centre: --pressure-centre; where the pressure would pull,
the contact opens.

Lengths are shown in the unit of --arm; --json is always in mm.

It assumes rigid faces, one friction coefficient at every point and pressure,
and gross slip. Rubber, serrations and worn strips break these.

Exit status: 0 done; 2 the command line is wrong; 3 there is no such number.`,
		Example: `  griptrial contact --patch "rectangle 60 mm x 3 mm" --arm "30 mm" --direction 90deg
  griptrial contact --patch "rectangle 60 mm x 3 mm" --arm "12.5 mm" --pressure-centre "0 mm,1.05 mm"
  griptrial contact --figure patch.svg --patch "disc 0.75 in" --arm "0.2 in"
  griptrial contact --json --patch "pads 6 mm x 3 mm at -20 mm,0 mm share 0.5; 6 mm x 3 mm at 20 mm,0 mm share 0.5" --arm "10 mm" --direction 90deg`,
		Args: exactly(0, "flags only"),
		RunE: func(cmd *cobra.Command, _ []string) error { return runContact(a, f) },
	}
	cmd.Flags().StringVar(&f.patch, "patch", "", "the contact patch of one jaw face")
	cmd.Flags().StringVar(&f.arm, "arm", "", `moment arm of the pull about the centre of the patch, as "12.5 mm"`)
	cmd.Flags().StringVar(&f.direction, "direction", "0deg", "direction of the pull from +x, along the jaw")
	cmd.Flags().StringVar(&f.centre, "pressure-centre", "", `centre of pressure from the centre of the patch, as "0 mm,1.05 mm"`)
	cmd.Flags().StringVar(&f.figure, "figure", "", "also draw patch, pull and turning centre into this file (.svg, .png or .pdf)")
	cmd.Flags().BoolVar(&f.json, "json", false, "print one JSON object")
	return cmd
}

// contactResult is what `contact --json` prints.
type contactResult struct {
	GripFactor      float64   `json:"grip_factor"`
	Centre          []float64 `json:"centre_mm"` // null: the part does not turn
	TwistRadius     float64   `json:"twist_radius_mm"`
	ContactFraction float64   `json:"contact_fraction"`
}

func runContact(a *app, f contactFlags) error {
	p, pull, length, err := f.read()
	if err != nil {
		return err
	}
	g, err := contact.Solve(p, pull)
	if errors.Is(err, contact.ErrTooFar) {
		return cannotError{fmt.Errorf("--arm %s: %w", f.arm, err)}
	}
	if err != nil {
		return usageError{err}
	}
	r, _, err := contact.TwistRadius(p)
	if err != nil {
		return err
	}
	if f.figure != "" {
		if err := writeFigure(f.figure, figure.Patch(p, pull, g, length)); err != nil {
			return err
		}
	}
	if !f.json {
		return printContact(a.stdout, f, p, pull, g, r, length)
	}
	res := contactResult{GripFactor: g.Factor, TwistRadius: r * 1000, ContactFraction: p.Touching()}
	if !g.Shift {
		res.Centre = []float64{g.Centre.X * 1000, g.Centre.Y * 1000}
	}
	return printJSON(a.stdout, res)
}

// read turns the flags into a patch and a pull, and gives the unit of the arm,
// in which the answer is shown.
func (f contactFlags) read() (p contact.Patch, pull contact.Pull, length unit.Unit, err error) {
	if f.patch == "" || f.arm == "" {
		return p, pull, length, usageError{errors.New("contact needs --patch and --arm; see `griptrial contact --help`")}
	}
	if p, err = contact.Parse(f.patch); err != nil {
		return p, pull, length, usageError{fmt.Errorf("--patch: %w", err)}
	}
	if f.centre != "" {
		c, err := contact.ParsePoint(f.centre)
		if err == nil {
			p, err = p.WithPressureCentre(c)
		}
		if err != nil {
			return p, pull, length, usageError{fmt.Errorf("--pressure-centre: %w", err)}
		}
	}
	if pull.Arm, length, err = quantityOf("arm", unit.Length, f.arm); err != nil {
		return p, pull, length, err
	}
	pull.Direction, _, err = quantityOf("direction", unit.Angle, f.direction)
	return p, pull, length, err
}

// printContact tells a person, in the unit of the arm.
func printContact(w io.Writer, f contactFlags, p contact.Patch, pull contact.Pull, g contact.Grip, radius float64, length unit.Unit) error {
	turn := "it shifts without turning"
	if !g.Shift {
		// What is less than a ten-millionth of the patch is nothing.
		place := func(v float64) string {
			if math.Abs(v) < 1e-7*radius {
				v = 0
			}
			return fmt.Sprintf("%.4g %s", length.FromSI(v), length.Name)
		}
		turn = fmt.Sprintf("it turns about (%s, %s) from the centre of the patch", place(g.Centre.X), place(g.Centre.Y))
	}
	open := "all of the patch touches"
	if t := p.Touching(); t < 1 {
		open = fmt.Sprintf("only %.0f %% of the patch touches", 100*t)
	}
	factor, share := fmt.Sprintf("%.4f", g.Factor), fmt.Sprintf("%.1f", 100*g.Factor)
	if g.Factor < 0.01 {
		factor, share = fmt.Sprintf("%.4g", g.Factor), fmt.Sprintf("%.3g", 100*g.Factor)
	}
	patch := strings.Join(strings.Fields(f.patch), " ")
	if f.centre != "" {
		patch += " pressed at " + f.centre
	}
	_, err := fmt.Fprintf(w, `%s, pulled at %.4g° with an arm of %.4g %s

  grip factor   %s   the face holds %s %% of mu x N; mu = F/(2 x N x %s)
  when it goes  %s
  pure twist    mu x N x %.4g %s
  contact       %s

Assumed: rigid faces, the same mu at every point and pressure, gross slip.
`, patch, pull.Direction*180/math.Pi, length.FromSI(pull.Arm), length.Name, factor, share, factor, turn, length.FromSI(radius), length.Name, open)
	return err
}
