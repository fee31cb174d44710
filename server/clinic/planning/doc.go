// Package planning makes plans: the first one of an episode, the one after an operation was confirmed or corrected, the
// one of a patient who is moved to another version of a protocol, and the one that two people wrote at once. It holds
// the clinical rules of these, without a request, a page or a store: what was adopted, who writes and on which day are
// arguments.
//
// Two rules stand above all others and are held by properties in the tests:
//
//  1. A move to another version never widens by itself (Stricter): what permits more than the plan in force is taken
//     only when a person says so.
//  2. What two people changed in different places is kept of both (Merge); where both changed the same, the person who
//     saves sees both values.
package planning
