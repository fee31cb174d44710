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
//
// # Decisions
//
//   - A patient's charts are the clinic's in other proportions (chart.Plain): names stand on their lines, a legend
//     only for what finds no room, few values, letters of about 16 px on a phone of 360 px that grow with the text
//     size of the settings. The photograph on the protractor page takes all that words and buttons leave (311x345
//     of 360x640).
//   - What is published of other people stands on a patient's chart from the end of week 12 on and only as a mean
//     with its spread; praise and comparison need more than the MDC, and nothing past a limit is compared at all.
package chart
