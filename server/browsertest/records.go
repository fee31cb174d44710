package browsertest

// readLog gives the lines of the phone's log, decrypted. It does from outside what wasm/idb documents: a row is a head
// "author n pull 1", a line feed, 12 bytes of nonce and the text under AES-GCM, with "log", a zero byte and "author n pull" as
// associated data (NIST SP 800-38D).
const readLog = `(async () => {
	const ask = (request) => new Promise((done, fail) => {
		request.onsuccess = () => done(request.result);
		request.onerror = () => fail(request.error);
	});
	const db = await ask(indexedDB.open("unsling"));
	const key = await ask(db.transaction("meta").objectStore("meta").get("data-key"));
	const rows = await ask(db.transaction("log").objectStore("log").getAll());
	db.close();
	const read = new TextDecoder(), write = new TextEncoder();
	return Promise.all(rows.map(async (row) => {
		const end = row.indexOf(10), head = read.decode(row.subarray(0, end)), data = row.subarray(end + 1);
		if (!head.endsWith(" 1") || head.split(" ").length !== 4) throw new Error("in clear: " + head);
		const additionalData = write.encode("log\0" + head.slice(0, -2));
		return read.decode(await crypto.subtle.decrypt({ name: "AES-GCM", iv: data.subarray(0, 12), additionalData }, key, data.subarray(12)));
	}));
})()`

// readValue gives a small value of the phone, decrypted: a mark of 11 bytes, 12 of nonce, and the text, with "meta", a zero
// byte and its name as associated data.
func readValue(name string) string {
	return `(async () => {
	const ask = (request) => new Promise((done, fail) => {
		request.onsuccess = () => done(request.result);
		request.onerror = () => fail(request.error);
	});
	const name = ` + quote(name) + `, mark = "\0unsling-1\0";
	const db = await ask(indexedDB.open("unsling"));
	const meta = db.transaction("meta").objectStore("meta");
	const [key, value] = await Promise.all([ask(meta.get("data-key")), ask(meta.get(name))]);
	db.close();
	const text = new TextDecoder();
	if (text.decode(value.subarray(0, mark.length)) !== mark) throw new Error("in clear: " + name);
	const data = value.subarray(mark.length), additionalData = new TextEncoder().encode("meta\0" + name);
	return text.decode(await crypto.subtle.decrypt({ name: "AES-GCM", iv: data.subarray(0, 12), additionalData }, key, data.subarray(12)));
})()`
}

// readRaw gives everything that lies in the databases and the small storage of the origin as it is there, as one text of
// bytes, without decrypting anything.
const readRaw = `(async () => {
	const ask = (request) => new Promise((done, fail) => {
		request.onsuccess = () => done(request.result);
		request.onerror = () => fail(request.error);
	});
	const out = [JSON.stringify(Object.entries(localStorage)), JSON.stringify(Object.entries(sessionStorage)), document.cookie];
	for (const { name } of await indexedDB.databases()) {
		const db = await ask(indexedDB.open(name));
		for (const store of db.objectStoreNames) {
			const rows = db.transaction(store).objectStore(store);
			out.push(name, store, JSON.stringify(await ask(rows.getAllKeys())));
			for (const value of await ask(db.transaction(store).objectStore(store).getAll())) {
				out.push(value instanceof Uint8Array ? new TextDecoder("latin1").decode(value) : JSON.stringify(value));
			}
		}
		db.close();
	}
	for (const name of await caches.keys()) {
		for (const request of await (await caches.open(name)).keys()) out.push(request.url);
	}
	return out.join("\n");
})()`
