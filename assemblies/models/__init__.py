"""Data of the assemblies. Import from here: `from assemblies.models import Build`."""

from assemblies.models.assemblies import Assembly, AssemblyState
from assemblies.models.builds import (
    Build,
    BuildPart,
    Measurement,
    PartRole,
    Quantity,
    ReadOn,
    Reclocking,
    Weighing,
)
from assemblies.models.checks import (
    CorrectionAnswer,
    Decision,
    HandsOnCheck,
    SpindleCheck,
    Station,
)
from assemblies.models.loads import Edge, Load, Sighting
from assemblies.models.machines import Machine, NumberNames, ToolChange, Units, ZeroAt
from assemblies.models.programs import (
    STANDARD_KEY,
    ApprovalState,
    LengthRule,
    Program,
    ProgramApproval,
    ProgramRevision,
    Reading,
    ToolCall,
    ToolRequirement,
    ToolUse,
)

__all__ = [
    "STANDARD_KEY",
    "ApprovalState",
    "Assembly",
    "AssemblyState",
    "Build",
    "BuildPart",
    "CorrectionAnswer",
    "Decision",
    "Edge",
    "HandsOnCheck",
    "LengthRule",
    "Load",
    "Machine",
    "Measurement",
    "NumberNames",
    "PartRole",
    "Program",
    "ProgramApproval",
    "ProgramRevision",
    "Quantity",
    "ReadOn",
    "Reading",
    "Reclocking",
    "Sighting",
    "SpindleCheck",
    "Station",
    "ToolCall",
    "ToolChange",
    "ToolRequirement",
    "ToolUse",
    "Units",
    "Weighing",
    "ZeroAt",
]
