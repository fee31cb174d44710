package words

// Words of the screen that shows how far things have come.
var (
	SoFarTitle  = Text{"So far", "Hasta ahora"}
	SoFarLead   = Text{"Days differ. Look at weeks, not at single days.", "Los días varían. Mire las semanas, no un solo día."}
	SoFarNone   = Text{"No angles yet. They appear here once you measure.", "Aún no hay ángulos. Aparecen aquí cuando mida."}
	SoFarDose   = Text{"Time held each day", "Tiempo mantenido cada día"}
	SoFarWeek   = Count{Text{"1 session in the last 7 days", "1 sesión en los últimos 7 días"}, Text{"%d sessions in the last 7 days", "%d sesiones en los últimos 7 días"}}
	ChartTitle  = Text{"Chart: %s", "Gráfico: %s"}
	ChartOwn    = Text{"you", "usted"}
	ChartClinic = Text{"clinic", "clínica"}
	ChartOther  = Text{"other arm", "otro brazo"}
	ChartLimit  = Text{"limit", "límite"}
	ChartLocked = Text{"not yet", "todavía no"}
	ChartExpect = Text{"expected", "esperado"}
	ChartTrend  = Text{"trend", "tendencia"}
	ChartChange = Text{"plan changed", "plan nuevo"}
	ChartOp     = Text{"surgery", "operación"}
	ChartToday  = Text{"today", "hoy"}
	ChartWeek   = Text{"week", "semana"}
	ChartDay    = Text{"day", "día"}
	ChartNoNews = Text{"no news", "sin noticias"}
	ChartRest   = Text{"rest day", "descanso"}
	ChartBefore = Text{"before", "antes"}
	ChartAfter  = Text{"after", "después"}
	ChartDue    = Text{"planned", "previsto"}
	ChartDone   = Text{"done", "hecho"}
	ChartMin    = Text{"min", "min"}
)
