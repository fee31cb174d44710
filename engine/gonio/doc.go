// Package gonio turns landmarks on a picture, or the direction of gravity in
// a phone, into the angle of a joint with its standard error, and judges an
// angle against a limit.
//
// # Which function to call
//
// GuideFor says, per motion, in which positions, by which methods and with
// which set-up it can be measured, and why other ways cannot. MeasurePhoto
// and MeasureTilt make one trial. Combine makes the result of the trials of
// one set-up. Judge and AimLine compare with a limit. Levels of hand behind
// back have their own functions.
//
// # Glossary
//
// Mark: a landmark as tapped on the picture. Click: how far one mark strays
// when it is tapped again. Roll: turning the camera about its own line of
// sight; it cancels, since every angle here is one between two body lines.
// Pitch: the camera looks up or down. Yaw: the camera, or the arm, is turned
// out of the plane of motion to the side. Foreshortening: a body part looks
// shorter than in another picture, because it points towards the camera.
//
// # Errors
//
// The error of a trial comes from its own marks or samples. The error of a
// reading is never smaller than the standard error of measurement of its
// method (SEMFor), since what a patient cannot see, such as a shoulder blade
// that came along, is not in the samples. Angles are integer tenths of a
// degree outside of this package. Conventions of zero are those of rom.Motion.
//
// All results support a clinician's judgement; they are no diagnosis, and the
// surgeon's limits stand above anything computed here.
package gonio
