// Package protocol holds what a practice prescribes after each procedure, as
// data with a source for every value, and the rules for using it: which
// exercise loads what and is locked after which procedure, the warning signs
// with their urgency, the pain rules, the starting protocols.
//
// The protocols that come with the program are drafts. Most of their values
// are one practice's published protocol or recalled from a consensus paper
// (marks practice and memory); published protocols disagree widely. A surgeon
// of the clinic must review and adopt one before a plan can be made from it,
// and the surgeon's own numbers override it always.
//
// The order of use: Parse and Check a file, Adopt it, MakePlan from one
// adopted protocol per procedure done, CheckPlan when somebody changes the
// plan later.
//
// # Decisions
//
//   - Questions that only the surgeon can answer (such as a remplissage) count as "yes", the stricter answer, until
//     answered.
package protocol
