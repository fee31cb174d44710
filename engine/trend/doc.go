// Package trend turns readings into what a shoulder practice would work out
// by hand: where a motion stands, how fast it moves, whether a change is real,
// how far it is from the other arm, and which published definition of
// stiffness is met.
//
// # Order of use
//
//  1. Collect splits a history into series. A series holds readings of one
//     motion, one arm, one class of movement and one kind (whole arm or
//     glenohumeral) of one episode. Nothing is ever pooled across series: ER
//     at 20 is never read as ER at the side.
//  2. Of smooths one series as of a day: level, rate, bias between own and
//     clinic readings, real change, plateau. Summary.Reach forecasts.
//  3. DeficitOf, PatternOf, Stiffness, TauroOf and Expect answer the rest.
//
// # Glossary
//
// Level: the smoothed angle on a day, on the scale of the clinic's readings
// where there are any, else as the phone measures it. Rate: its slope.
// Interval: 95 %, from the measurement error and the freedom of the curve; it
// says nothing about what the repair can bear.
//
// MDC95: 1.96 times the square root of 2 times the SEM of motion, method and
// rater. Readings of one day by one person share their set-up: they count as
// one, with the error of one.
//
// Set aside: a reading so far from its neighbours on both sides that one slip
// explains it better than the joint does. It is shown and asked about, never
// deleted; a second reading that agrees with it makes it a real change.
//
// Nothing here reads a clock. The same readings give the same bits natively
// and under js/wasm; only sums, products and square roots are used.
//
// # Decisions
//
//   - A baseline is a reference only once the episode is operated; while it is planned an arm would be compared
//     with itself. A reading of the operated arm that is marked as baseline and lies after the operation belongs to
//     nothing: the date was moved and the phone did not know.
package trend
