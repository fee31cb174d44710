// Package cases judges patients: it reads the facts that the ledger keeps of one, asks the engine for the day, the plan
// and the findings of every episode, and says what of it still holds a minute later. Pages, the watch list, outcomes,
// the work that runs ahead and the commands all judge through it, so that nobody sees two answers.
//
// A judgement is made as of one minute at the clinic (AsOf): today's date, the clinic's hours and who has left decide
// with the log what is due and whose it is. Nothing here writes, and nothing knows a request.
package cases
