"""Every kind of task of a job, stage by stage: what to do, what is read, what may be recorded.

The tables are the single place where tasks are described: pages, forms, the log's texts and the
checklist are all made from them. A task's id is ``kind`` or ``kind:subject`` (a panel, a seat, two
neighbouring seats or panels, a level line).
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from holdtrue.domain.task_kinds import STAGES, Field, Stage, TaskKind
from holdtrue.domain.tasks_hanging import HANGING_TASKS
from holdtrue.domain.tasks_methods import METHOD_TASKS, with_methods
from holdtrue.domain.tasks_survey import SURVEY_TASKS

__all__ = ["STAGES", "TASK_KINDS", "Field", "Stage", "TaskKind"]

TASK_KINDS: Mapping[str, TaskKind] = MappingProxyType(
    {kind.name: kind for kind in (*with_methods((*SURVEY_TASKS, *HANGING_TASKS)), *METHOD_TASKS)}
)
