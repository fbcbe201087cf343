package clamp

import (
	"fmt"
	"math"

	"griptrial/analysis/trial"
)

// StandardGravity is g_n in m/s², CGPM 1901, exact by definition.
const StandardGravity = 9.80665

// Gravity is the local acceleration of free fall in m/s², for latitude in rad
// and altitude in m above the sea:
//
//	g = 9.7803253359·(1 + 0.00193185265241·s)/sqrt(1 − 0.00669437999013·s) − 3.086e-6·altitude,  s = sin²(latitude)
//
// It leaves out local anomalies, which stay below 0.01 %.
// Errors: a latitude beyond ±90°, an altitude outside −500 m to 9000 m, NaN.
// Source: WGS 84 normal gravity (Somigliana) and the free-air gradient, both
// from memory; tested against the GRS 80 closed form to 2e-6 m/s².
func Gravity(latitude, altitude float64) (float64, error) {
	if !(math.Abs(latitude) <= math.Pi/2) {
		return 0, fmt.Errorf("latitude %.6g°: must lie between -90° and 90°", latitude*180/math.Pi)
	}
	if !(altitude >= -500 && altitude <= 9000) {
		return 0, fmt.Errorf("altitude %.6g m: must lie between -500 m and 9000 m", altitude)
	}
	s := math.Sin(latitude)
	s *= s
	return 9.7803253359*(1+0.00193185265241*s)/math.Sqrt(1-0.00669437999013*s) - 3.086e-6*altitude, nil
}

// GravityAt is the acceleration of free fall at the handle's place, or
// standard gravity where no place is given.
func GravityAt(h trial.Handle) (float64, error) {
	if !h.HasPlace {
		return StandardGravity, nil
	}
	return Gravity(h.Latitude, h.Altitude)
}
