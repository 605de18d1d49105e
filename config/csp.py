"""The Content-Security-Policy header: nothing but our own files, nothing inline.

The setting has the shape that Django 6 uses for its own middleware, which can then
take this one's place.
"""

from django.conf import settings


class ContentSecurityPolicyMiddleware:
    """Put the policy on every answer that does not bring its own."""

    def __init__(self, get_response):
        self.get_response = get_response
        self.policy = "; ".join(
            " ".join([directive, *sources])
            for directive, sources in settings.CONTENT_SECURITY_POLICY.items()
        )

    def __call__(self, request):
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", self.policy)
        return response
