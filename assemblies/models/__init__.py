"""Data of the assemblies. Import from here: `from assemblies.models import Build`."""

from assemblies.models.assemblies import Assembly, AssemblyState
from assemblies.models.builds import Build, BuildPart, Measurement, PartRole, Quantity
from assemblies.models.checks import Decision, SpindleCheck, Station
from assemblies.models.machines import Machine, ToolChange
from assemblies.models.programs import (
    ApprovalState,
    LengthRule,
    Program,
    ProgramApproval,
    ProgramRevision,
    ToolCall,
    ToolRequirement,
    ToolUse,
)

__all__ = [
    "ApprovalState",
    "Assembly",
    "AssemblyState",
    "Build",
    "BuildPart",
    "Decision",
    "LengthRule",
    "Machine",
    "Measurement",
    "PartRole",
    "Program",
    "ProgramApproval",
    "ProgramRevision",
    "Quantity",
    "SpindleCheck",
    "Station",
    "ToolCall",
    "ToolChange",
    "ToolRequirement",
    "ToolUse",
]
