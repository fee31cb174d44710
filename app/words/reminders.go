package words

// Words of the reminders. Those that go into a calendar stand on a lock screen
// for all to see: they say nothing about health, arm or clinic.
var (
	RemindTitle  = Text{"Reminders", "Recordatorios"}
	RemindLead   = Text{"Your phone's calendar can ring at these times.", "El calendario de su teléfono puede sonar a estas horas."}
	RemindTimes  = Text{"Times", "Horas"}
	RemindEarly  = Text{"15 minutes earlier than %s", "15 minutos antes de las %s"}
	RemindLate   = Text{"15 minutes later than %s", "15 minutos después de las %s"}
	RemindDrop   = Text{"Remove %s", "Quitar las %s"}
	RemindMore   = Text{"One more time", "Otra hora más"}
	RemindPlan   = Text{"Take the times of the plan", "Usar las horas del plan"}
	RemindSave   = Text{"Put in my calendar", "Poner en mi calendario"}
	RemindStop   = Text{"Take all out", "Quitar todos"}
	RemindDone   = Text{"The file is saved. Open it to put it in your calendar.", "Archivo guardado. Ábralo para ponerlo en su calendario."}
	RemindGone   = Text{"The file is saved. Open it to take the reminders out.", "Archivo guardado. Ábralo para quitar los recordatorios."}
	RemindBad    = Text{"The file could not be saved. Please try again.", "No se pudo guardar el archivo. Pruebe otra vez."}
	RemindOld    = Text{"The times have changed. Put them in your calendar again.", "Las horas han cambiado. Póngalas otra vez en su calendario."}
	RemindEnds   = Text{"They ring until %s. Then make them anew.", "Suenan hasta el %s. Después hágalos de nuevo."}
	RemindLock   = Text{"They say nothing about your health.", "No dicen nada de su salud."}
	RemindOpen   = Text{"Remind me while the app is open", "Recordarme con la aplicación abierta"}
	RemindNow    = Text{"It is time for your session.", "Es la hora de su sesión."}
	RemindSum    = Text{"A moment for you", "Un momento para usted"}
	RemindAbout  = Text{"Open the app when it suits you.", "Abra la aplicación cuando le venga bien."}
	RemindNone   = Text{"No times yet.", "Aún no hay horas."}
	RemindTravel = Text{"On a journey they follow the local time.", "En un viaje siguen la hora del lugar."}
)
