from __future__ import annotations

from django.urls import path

from assemblies import (
    urls_drawing,
    urls_finder,
    urls_loads,
    urls_log,
    urls_rules,
    urls_runout,
    urls_sheet,
    urls_spindle,
    urls_sums,
)
from assemblies.views import (
    assemblies,
    assembly_page,
    assembly_steps,
    bench,
    machines,
    measuring,
    program_compare,
    program_history,
    program_revision,
    program_text,
    program_upload,
    programs,
    refused,
)

app_name = "assemblies"
urlpatterns = [
    path("assemblies/", assemblies.assembly_list, name="assembly_list"),
    path("assemblies/new/", assembly_steps.assembly_new, name="assembly_new"),
    path("assemblies/refused/", refused.refused, name="refused"),
    path("assemblies/<int:number>/", assembly_page.assembly_detail, name="assembly_detail"),
    path("assemblies/<int:number>/quarantine/", assembly_steps.quarantine, name="quarantine"),
    path("assemblies/<int:number>/rebuild/", assembly_steps.rebuild, name="rebuild"),
    path("assemblies/<int:number>/retire/", assembly_steps.retire, name="retire"),
    path("assemblies/<int:number>/place/", assembly_steps.put_down, name="put_down"),
    path("assemblies/<int:number>/bench/", bench.bench, name="bench"),
    path("assemblies/<int:number>/bench/put/", bench.put, name="bench_put"),
    path("assemblies/<int:number>/bench/take-out/", bench.take_out, name="bench_take_out"),
    path("assemblies/<int:number>/bench/figures/", bench.figures, name="bench_figures"),
    path("assemblies/<int:number>/bench/findings/", bench.findings, name="bench_findings"),
    path("assemblies/<int:number>/bench/purpose/", bench.purpose, name="bench_purpose"),
    path("assemblies/<int:number>/bench/make/", bench.make, name="bench_make"),
    path("assemblies/<int:number>/stud/", bench.stud, name="stud"),
    path("assemblies/<int:number>/measure/", measuring.measure, name="measure"),
    path("assemblies/<int:number>/release/", measuring.release, name="release"),
    path("machines/", machines.machine_list, name="machine_list"),
    path("machines/new/", machines.machine_new, name="machine_new"),
    *urls_loads.urlpatterns,
    # A mark may hold any sign, so it is matched whole.
    path("machines/<path:mark>/edit/", machines.machine_edit, name="machine_edit"),
    path("machines/<path:mark>/", machines.machine_detail, name="machine_detail"),
    path("programs/", programs.program_list, name="program_list"),
    path("programs/new/", program_upload.program_new, name="program_new"),
    path("programs/new/proposal/", program_upload.program_proposal, name="program_proposal"),
    path(
        "programs/<int:older>/against/<int:newer>/",
        program_compare.program_compare,
        name="program_compare",
    ),
    path("programs/<int:pk>/history/", program_history.program_history, name="program_history"),
    path("programs/<int:pk>/", program_revision.program_revision, name="program_revision"),
    path(
        "programs/<int:pk>/read-again/",
        program_revision.program_read_again,
        name="program_read_again",
    ),
    path("programs/<int:pk>/text/", program_text.program_text, name="program_text"),
    path("programs/<int:pk>/approval/", program_revision.program_approve, name="program_approve"),
    path(
        "programs/<int:pk>/top-of-stock/",
        program_revision.program_top_of_stock,
        name="program_top_of_stock",
    ),
    path(
        "programs/<int:pk>/t/<int:tool_number>/", program_revision.requirement, name="requirement"
    ),
    *urls_sheet.urlpatterns,
    *urls_spindle.urlpatterns,
    *urls_log.urlpatterns,
    *urls_rules.urlpatterns,
    *urls_finder.urlpatterns,
    *urls_runout.urlpatterns,
    *urls_sums.urlpatterns,
    *urls_drawing.urlpatterns,
]
