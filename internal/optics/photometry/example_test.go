package photometry_test

import (
	"fmt"

	"github.com/cueproof/cueproof/internal/optics/photometry"
)

// A key light from the house on a person: how much light reaches the face, and does it suit the camera?
func Example() {
	person := photometry.Vec{X: 0, Y: 2, Z: 1.6}
	camera := photometry.Vec{X: 0, Y: -12, Z: 2}

	light, err := photometry.NewBeamFromFlux(19, 30, 6000)
	if err != nil {
		fmt.Println(err)
		return
	}
	aim, err := photometry.AimAt(photometry.Vec{X: -4, Y: -4, Z: 6}, person, 0)
	if err != nil {
		fmt.Println(err)
		return
	}
	key, err := photometry.NewSource(aim, light, photometry.Cuts{})
	if err != nil {
		fmt.Println(err)
		return
	}
	face, ok := photometry.FacePlane(person, camera)
	full, ok2 := key.Coefficient(face)
	wanted, ok3 := photometry.ExposureIlluminance(2.8, 1.0/50, 800, photometry.CalibrationFlat)
	stops, ok4 := photometry.Stops(0.3*full, wanted)
	if !ok || !ok2 || !ok3 || !ok4 {
		fmt.Println("cannot tell")
		return
	}
	fmt.Printf("%.0f lx at full; at 30 %% the face is %+.1f stops from what the camera wants\n", full, stops)
	// By hand: 57,300 cd over 71.36 m2 of squared distance, times cos 0.7103; 171 lx against 122.5 lx.
	//
	// Output: 570 lx at full; at 30 % the face is +0.5 stops from what the camera wants
}
