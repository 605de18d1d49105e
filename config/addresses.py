"""What no address of this shop can hold."""

from django.http import Http404


def no_nul_in_addresses(get_response):
    """Middleware: an address with a NUL in it names nothing.

    PostgreSQL does not even let itself be asked for such a text, so no page needs to see it.
    """

    def middleware(request):
        if "\0" in request.path_info or "%00" in request.META.get("QUERY_STRING", ""):
            raise Http404("An address with a NUL in it.")
        return get_response(request)

    return middleware
