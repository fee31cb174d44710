// Package chart draws the product's charts as SVG from numbers, dates and
// closed enumerations. Labels are fixed words that the caller passes in the
// reader's language; they are escaped. Colours are CSS classes only (see
// Stylesheet), and nothing is told by colour alone: every series has its own
// marker or dash. There are no style attributes, ids, scripts or links.
//
// Every chart has a table twin: Table returns the same facts as rows of
// strings, the first row being the header.
//
// Charts read no clock: the day called today is an argument. The same input
// gives the same bytes.
package chart
