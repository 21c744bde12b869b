"""A small OpenID Connect provider on this computer: authorization code with PKCE, discovery, keys, signed identities.

Its accounts are invented, and nobody types a password: the page it shows has a link for each.
"""

import base64
import hashlib
import json
import secrets
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from html import escape
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import parse_qs, unquote, urlencode, urlsplit

from joserfc import jwt
from joserfc.jwk import RSAKey

CLIENT = "leakback-under-test"
HOUR = 3600


@dataclass
class Provider:
    """The provider's state: its accounts' claims by name, the codes it gave out, and its key."""

    accounts: Mapping[str, Mapping[str, Any]]
    client_secret: str = field(default_factory=lambda: secrets.token_urlsafe(24))
    key: RSAKey = field(default_factory=lambda: RSAKey.generate_key(2048, {"kid": "one", "use": "sig", "alg": "RS256"}))
    asked: dict[str, dict[str, str]] = field(default_factory=dict)
    given_out: list[str] = field(default_factory=list)
    """Every secret thing that went over the wire: codes and tokens."""
    url: str = ""

    def discovery(self) -> dict[str, Any]:
        return {
            "issuer": self.url,
            "authorization_endpoint": f"{self.url}/authorize",
            "token_endpoint": f"{self.url}/token",
            "jwks_uri": f"{self.url}/keys",
            "end_session_endpoint": f"{self.url}/end",
            "response_types_supported": ["code"],
            "subject_types_supported": ["public"],
            "id_token_signing_alg_values_supported": ["RS256"],
            "code_challenge_methods_supported": ["S256"],
        }

    def code(self, asked: Mapping[str, str], who: str) -> str:
        code = secrets.token_urlsafe(16)
        self.asked[code] = {**asked, "who": who}
        self.given_out.append(code)
        return code

    def token(self, sent: Mapping[str, str], client: tuple[str, str]) -> dict[str, Any] | None:
        """The tokens for a code; None where anything does not fit."""
        asked = self.asked.pop(sent.get("code", ""), None)
        if asked is None or client != (CLIENT, self.client_secret) or sent["redirect_uri"] != asked["redirect_uri"]:
            return None
        challenge = base64.urlsafe_b64encode(hashlib.sha256(sent.get("code_verifier", "").encode()).digest())
        if asked.get("code_challenge_method") != "S256" or challenge.rstrip(b"=").decode() != asked["code_challenge"]:
            return None
        now = int(time.time())
        claims: dict[str, Any] = {
            "iss": self.url,
            "aud": CLIENT,
            "sub": f"subject-{asked['who']}",
            "nonce": asked["nonce"],
        }
        claims |= {"iat": now, "exp": now + HOUR, **self.accounts[asked["who"]]}
        claims["iat"] -= claims.pop("seconds_ago", 0)
        tokens = {
            "id_token": jwt.encode({"alg": "RS256", "kid": "one"}, claims, self.key),
            "access_token": secrets.token_urlsafe(16),
        }
        self.given_out += tokens.values()
        return {**tokens, "token_type": "Bearer", "expires_in": HOUR}


class _Handler(BaseHTTPRequestHandler):
    provider: Provider

    def do_GET(self) -> None:
        place = urlsplit(self.path)
        asked = {name: values[0] for name, values in parse_qs(place.query).items()}
        match place.path:
            case "/.well-known/openid-configuration":
                self._json(self.provider.discovery())
            case "/keys":
                self._json({"keys": [self.provider.key.as_dict(private=False)]})
            case "/authorize":
                self._html("".join(self._link(asked, who) for who in self.provider.accounts))
            case "/as":
                code = self.provider.code(asked, asked.pop("who"))
                self._redirect(f"{asked['redirect_uri']}?{urlencode({'code': code, 'state': asked['state']})}")
            case "/end":
                self._redirect(asked["post_logout_redirect_uri"])
            case _:
                self._json({"error": "not_found"}, 404)

    def do_POST(self) -> None:
        body = self.rfile.read(int(self.headers["Content-Length"])).decode()
        sent = {name: values[0] for name, values in parse_qs(body).items()}
        found = self.provider.token(sent, self._client())
        self._json(found or {"error": "invalid_grant"}, 200 if found else 400)

    def _client(self) -> tuple[str, str]:
        sent = self.headers.get("Authorization", "").removeprefix("Basic ")
        name, _, secret = base64.b64decode(sent).decode().partition(":")
        return unquote(name), unquote(secret)

    def _link(self, asked: Mapping[str, str], who: str) -> str:
        return f'<p><a href="/as?{escape(urlencode({**asked, "who": who}))}">{who}</a></p>'

    def _redirect(self, url: str) -> None:
        self.send_response(302)
        self.send_header("Location", url)
        self.end_headers()

    def _json(self, said: Mapping[str, Any], status: int = 200) -> None:
        self._send(json.dumps(said), "application/json", status)

    def _html(self, text: str) -> None:
        self._send(f"<!doctype html><title>Sign in as</title>{text}", "text/html", 200)

    def _send(self, text: str, kind: str, status: int) -> None:
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.end_headers()
        self.wfile.write(text.encode())

    def log_message(self, *_: object) -> None:
        """Nothing is logged."""


@contextmanager
def provided(accounts: Mapping[str, Mapping[str, Any]]) -> Iterator[Provider]:
    """A provider with these accounts, serving meanwhile."""
    provider = Provider(accounts)
    handler = type("Handler", (_Handler,), {"provider": provider})
    with ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        provider.url = f"http://127.0.0.1:{server.server_address[1]}"
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        yield provider
        server.shutdown()
        thread.join()
