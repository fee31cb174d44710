package words

// Words of the app lock.
var (
	SetPrivacy = Text{"Privacy and phones", "Privacidad y teléfonos"}
	LockTitle  = Text{"App lock", "Bloqueo de la aplicación"}
	LockWhat   = Text{"It hides your records from people who pick up this phone.", "Oculta sus notas a quien tome este teléfono."}
	LockLimits = Text{"It is a simple lock. A skilled thief may still get past it.", "Es un bloqueo sencillo. Un ladrón experto puede saltárselo."}
	LockOpen   = Text{"Help, the warning signs and the clinic's number always stay open.", "La ayuda, las señales de alarma y el número siguen siempre abiertos."}
	LockTimer  = Text{"It never locks while a session runs.", "Nunca se bloquea durante una sesión."}
	LockOff    = Text{"No lock", "Sin bloqueo"}
	LockByPIN  = Text{"A number (PIN)", "Un número (PIN)"}
	LockByOwn  = Text{"My finger, face or phone code", "Mi dedo, cara o código del teléfono"}
	LockIsOff  = Text{"The lock is off.", "El bloqueo está apagado."}
	LockIsPIN  = Text{"The lock is on. It asks for your PIN.", "El bloqueo está activo. Pide su PIN."}
	LockIsOwn  = Text{"The lock is on. It asks your phone to check that it is you.", "El bloqueo está activo. Pide al teléfono que compruebe que es usted."}
	LockAfter  = Text{"Lock when the app was away for", "Bloquear si la aplicación estuvo cerrada"}
	LockMinute = Count{Text{"1 minute", "1 minuto"}, Text{"%d minutes", "%d minutos"}}

	LockNewPIN  = Text{"Choose a PIN", "Elija un PIN"}
	LockPINHint = Text{"4 to 8 digits. Not your birthday.", "De 4 a 8 cifras. No su cumpleaños."}
	LockAgain   = Text{"The same PIN again", "El mismo PIN otra vez"}
	LockSet     = Text{"Turn the lock on", "Activar el bloqueo"}
	LockShort   = Text{"The PIN needs 4 to 8 digits.", "El PIN necesita de 4 a 8 cifras."}
	LockDiffer  = Text{"The two PINs differ. Type them again.", "Los dos PIN no son iguales. Escríbalos otra vez."}
	LockSimple  = Text{"That PIN is too easy to guess. Choose another.", "Ese PIN es muy fácil. Elija otro."}
	LockNotKept = Text{"The lock could not be turned on. Please try again.", "No se pudo activar el bloqueo. Pruebe otra vez."}
	LockNoOwn   = Text{"This phone could not check that it is you. Use a PIN.", "El teléfono no pudo comprobar que es usted. Use un PIN."}
	LockIsOn    = Text{"The lock is on.", "El bloqueo está activo."}

	Locked      = Text{"The app is locked", "La aplicación está bloqueada"}
	LockedHelp  = Text{"Trouble with your shoulder? Tap Help. It is not locked.", "¿Problemas con el hombro? Toque Ayuda. No está bloqueada."}
	LockPIN     = Text{"Your PIN", "Su PIN"}
	LockUnlock  = Text{"Unlock", "Desbloquear"}
	LockWrong   = Text{"That is not the PIN.", "Ese no es el PIN."}
	LockWait    = Text{"Too many tries. Wait %s, then try again.", "Demasiados intentos. Espere %s y pruebe otra vez."}
	LockRefused = Text{"The phone did not see that it is you. Try again.", "El teléfono no vio que es usted. Pruebe otra vez."}
	LockForgot  = Text{"I cannot unlock it", "No puedo desbloquearla"}
	LockSeconds = Count{Text{"1 second", "1 segundo"}, Text{"%d seconds", "%d segundos"}}

	ForgotTitle = Text{"Unlock without the PIN", "Desbloquear sin el PIN"}
	ForgotCode  = Text{"Ask your clinic for a new code. It takes the lock off.", "Pida un código nuevo a su clínica. Quita el bloqueo."}
	ForgotDo    = Text{"Take the lock off", "Quitar el bloqueo"}
	ForgotNo    = Text{"This code is not for your record. Ask the clinic.", "Este código no es de sus notas. Pregunte a la clínica."}
	ForgotErase = Text{"Or erase this phone and join again. What is not sent is lost.", "O borre este teléfono y únase de nuevo. Lo no enviado se pierde."}
)
