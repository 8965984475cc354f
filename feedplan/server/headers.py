"""What every answer tells a browser, so that a page can do no harm and a secret does not leave it."""

from __future__ import annotations

# What a browser may do with these pages: nothing from elsewhere, nothing written into the page itself.
_POLICY = "; ".join(
    (
        "default-src 'none'",
        "style-src 'self'",
        "script-src 'self'",
        "img-src 'self'",
        "connect-src 'self'",
        "manifest-src 'self'",
        "worker-src 'self'",
        "form-action 'self'",
        "frame-ancestors 'none'",
        "base-uri 'none'",
    )
)
SAFE_HEADERS = (
    ("Content-Security-Policy", _POLICY),
    ("Referrer-Policy", "no-referrer"),
    ("X-Content-Type-Options", "nosniff"),
    ("X-Frame-Options", "DENY"),
    ("Cross-Origin-Opener-Policy", "same-origin"),
    ("Cross-Origin-Resource-Policy", "same-origin"),
    ("Permissions-Policy", "camera=(), geolocation=(), microphone=()"),
    ("X-Robots-Tag", "noindex, nofollow"),
)
