package words

// More words of the screen that shows how far things have come.
var (
	SoFarSince = Text{"Since your visit on %s", "Desde su visita del %s"}
	SoFarWeeks = Text{"In the last two weeks", "En las últimas dos semanas"}
	SinceMore  = Text{"%s: %d degrees more.", "%s: %d grados más."}
	SinceSame  = Text{"%s: about the same.", "%s: más o menos igual."}
	SinceLess  = Text{"%s: %d degrees less. That happens. Ask at your visit.", "%s: %d grados menos. Ocurre. Pregunte en su visita."}
	SinceFirst = Text{"%s: measured for the first time.", "%s: medido por primera vez."}
	ChartBand  = Text{"The pale band shows where many people are by then.", "La franja clara muestra dónde están muchas personas entonces."}
	ChartReads = Text{"Dots are you. Go up to the line, never past it.", "Los puntos son usted. Llegue hasta la línea, nunca más allá."}
)
