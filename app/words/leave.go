package words

// Words of leaving: the phone is emptied.
var (
	LeaveTitle   = Text{"Erase this phone", "Borrar este teléfono"}
	LeaveWhat    = Text{"This removes your records, pictures and keys from this phone.", "Esto quita sus notas, fotos y claves de este teléfono."}
	LeaveStays   = Text{"What the clinic has received stays at the clinic.", "Lo que la clínica recibió sigue en la clínica."}
	LeaveUnsent  = Text{"Not sent yet, and lost if you erase: %s.", "Aún sin enviar, y se pierde si borra: %s."}
	LeaveAllSent = Text{"Everything was sent. Nothing is lost.", "Todo se envió. No se pierde nada."}
	LeaveUnknown = Text{"What was not sent yet is lost.", "Lo que aún no se envió se pierde."}
	LeaveFirst   = Text{"Erase all", "Borrar todo"}
	LeaveSure    = Text{"Are you sure? This cannot be taken back.", "¿Está seguro? No se puede deshacer."}
	LeaveYes     = Text{"Yes, erase all now", "Sí, borrar todo ahora"}
	LeaveNo      = Text{"No, keep it", "No, conservarlo"}
	LeaveBusy    = Text{"Erasing. Please wait.", "Borrando. Espere, por favor."}
	LeaveFailed  = Text{"Not all could be erased. Close other windows, then try again.", "No se pudo borrar todo. Cierre otras ventanas y pruebe otra vez."}

	LeftTitle  = Text{"This phone is empty", "Este teléfono está vacío"}
	LeftTold   = Text{"The clinic knows that this phone has left.", "La clínica sabe que este teléfono se fue."}
	LeftUntold = Text{"The clinic could not be told. Call and say that this phone is gone.", "No se pudo avisar a la clínica. Llame y diga que este teléfono ya no está."}
	LeftIcon   = Text{"Now remove the app's icon from your home screen.", "Ahora quite el icono de la pantalla de inicio."}
	LeftAgain  = Text{"Start again", "Empezar de nuevo"}

	KeyLostDo = Text{"What the clinic received is safe there. Ask for a new code.", "Lo que la clínica recibió está a salvo. Pida un código nuevo."}
)
