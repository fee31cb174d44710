// Verifies tokens by a key set, and makes tokens, with jose. Reads one JSON
// object and writes one.
const jose = await import(process.argv[2]);
const chunks = [];
for await (const c of process.stdin) chunks.push(c);
const ask = JSON.parse(Buffer.concat(chunks));

const out = { Verified: [], Refused: [], Thumbs: [], Tokens: {} };
const keys = jose.createLocalJWKSet(ask.jwks);
for (const [name, token] of Object.entries(ask.tokens).sort()) {
  try {
    await jose.jwtVerify(token, keys, { issuer: ask.issuer, audience: ask.audiences[name], typ: "at+jwt", algorithms: ["EdDSA"], currentDate: new Date(ask.now * 1000) });
    out.Verified.push(name);
  } catch (err) {
    if (!err.code) throw err;
    out.Refused.push(name);
  }
}
for (const k of ask.jwks.keys) {
  if ("d" in k) throw new Error("a private key is published");
  out.Thumbs.push(await jose.calculateJwkThumbprint(k));
}

const key = await jose.importJWK(ask.private, "EdDSA");
const make = (header, claims, change = j => j) => change(new jose.SignJWT({ client_id: "a1", scope: "__exchange", ...claims })
  .setProtectedHeader({ alg: "EdDSA", typ: "at+jwt", kid: ask.kid, ...header })
  .setIssuer(ask.issuer).setSubject("a1").setAudience(ask.issuer + "/v1").setJti("jti-of-jose-012345").setIssuedAt(ask.now).setExpirationTime(ask.now + 900)).sign(key);
out.Tokens.good = await make({}, {});
out.Tokens.type = await make({ typ: "JWT" }, {});
out.Tokens.audience = await make({}, {}, j => j.setAudience(ask.issuer + "/clinic"));
out.Tokens.issuer = await make({}, {}, j => j.setIssuer("https://evil.example"));
out.Tokens.expired = await make({}, {}, j => j.setExpirationTime(ask.now - 60));
out.Tokens.scope = await make({}, { scope: "__exchange __sealed" });
out.Tokens.crit = await new jose.SignJWT({ client_id: "a1", scope: "__exchange" }).setProtectedHeader({ alg: "EdDSA", typ: "at+jwt", kid: ask.kid, crit: ["b64"], b64: true })
  .setIssuer(ask.issuer).setSubject("a1").setAudience(ask.issuer + "/v1").setJti("jti-of-jose-012345").setIssuedAt(ask.now).setExpirationTime(ask.now + 900).sign(key);
out.Tokens.unsecured = new jose.UnsecuredJWT({ client_id: "a1", scope: "__exchange" }).setIssuer(ask.issuer).setSubject("a1").setAudience(ask.issuer + "/v1").setIssuedAt(ask.now).setExpirationTime(ask.now + 900).encode();

const phone = await jose.generateKeyPair("ES256", { extractable: true });
out.AssertKey = await jose.exportJWK(phone.publicKey);
out.Thumbprint = await jose.calculateJwkThumbprint(out.AssertKey);
out.Assertion = await new jose.SignJWT({ nonce: "nonce" }).setProtectedHeader({ alg: "ES256", typ: "JWT" })
  .setIssuer("a1").setSubject("a1").setAudience(ask.endpoint).setJti("assertion-of-jose-01").setIssuedAt(ask.now).setExpirationTime(ask.now + 60).sign(phone.privateKey);

process.stdout.write(JSON.stringify(out));
