// Package figure computes pictures of a body doing an exercise at given joint
// angles, as SVG. Nothing is drawn by hand per picture: one body with limbs of
// constant length stands, sits or lies in space, its arms are placed by joint
// angles or by what the hand must touch, and a camera looks along the normal
// of the plane of motion, or obliquely where a strict view would confuse.
//
// The output is a pure function of numbers and closed enumerations. Fixed
// words come from the caller and are escaped. Colours are CSS classes only
// (see Stylesheet); there are no style attributes, ids, scripts or links, so
// the pictures may be used many times in one page under a strict policy.
//
// A picture of a left arm is the mirror image of that of a right arm; only
// text is not mirrored.
package figure
