"""What others reported of their fit."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.judge import COUNTED, judged
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit
from afterpart.words import entry, paragraph, tell, translated

SOURCE = entry("[[fit_report]] rows")
FORMULA = entry("count of reports that did not fit as printed, none")
SEVERITY = 3


def reported_fits(case: Case) -> tuple[Finding, ...]:
    """How many of the reports from others say that it did not go on as printed.

        n = count of [[fit_report]] rows whose fitted is not "fits", none wanted

    Where it rubbed stands beside it; the sizes they measured are in the outline already.  Reports are few and not drawn by lot:
    a count, no share.  Reports of an earlier revision fail nothing now, but want attention until somebody has tried this one.
    """
    reports = case.job.fit_reports
    if not reports:
        return ()
    bad = [report for report in reports if report.fitted != "fits"]
    now = [report for report in bad if report.revision in ("", case.job.revision)]
    doubt = "" if len(now) == len(bad) else tell("Some are of an earlier revision: see that what rubbed then has more room now.")
    rubs = ", ".join(dict.fromkeys(place for report in bad for place in report.rubs))
    told = "; ".join(f"{report.machine}{f' ({report.year})' if report.year else ''}: {report.fitted}" for report in reports)
    where = (tell("It rubs at: {rubs}. Open these places ([[role]] clearance), or add their sizes as reported.", rubs=rubs)
             if rubs else "")
    return (judged("reported_fits", tell("other people's machines"), float(len(now)), entry("reports"), Limit(high=0.0),
                   source=translated(SOURCE), formula=FORMULA,
                   advice=paragraph(tell("{count} reported. {told}.", count=len(reports), told=told), where),
                   inputs=(Input(tell("reports"), len(reports), "", "fit_report"),), severity=SEVERITY, doubt=doubt,
                   insensitive=translated(COUNTED)),)
