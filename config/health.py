"""The page a watchdog asks: does the server answer, and its database too?"""

from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, connection
from django.http import HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe


@login_not_required
@never_cache
@require_safe
def health(request):
    """Say `ok`, or 503 when the database does not answer."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError:
        return HttpResponse("no database\n", status=503, content_type="text/plain")
    return HttpResponse("ok\n", content_type="text/plain")
