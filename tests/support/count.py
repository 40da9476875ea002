"""Counts test cases from ctest's JUnit report: count.py REPORT CTEST_STATUS [SOAK_STATUS]. Ends with "N passed, N failed".

Each ctest entry ends its output with a summary of its own: Catch2's, or "N passed, N failed" of a script. An entry that
ctest calls failed counts at least one failure, also when it died without a summary; so does one that says nothing, and
one that was not run. What a crash kept from running is in no summary and so counts neither way.
"""

import re
import sys
import xml.etree.ElementTree as ElementTree

SUMMARIES = (
    # (expression, group of the number passed, group of the number failed)
    (re.compile(r"^All tests passed \(.*? in (\d+) test cases?\)", re.M), 1, None),
    (re.compile(r"^test cases: .*$", re.M), None, None),
    (re.compile(r"^(\d+) passed, (\d+) failed$", re.M), 1, 2),
)


def catch_line_count(line, word):
    found = re.search(r"(\d+) " + word, line)
    return int(found.group(1)) if found else 0


def last_summary(output):
    """(passed, failed), or None when the output has no summary."""
    best = None
    for expression, passed, failed in SUMMARIES:
        for found in expression.finditer(output):
            if best is not None and found.start() < best[0]:
                continue
            if passed is None:
                line = found.group(0)
                numbers = (catch_line_count(line, "passed"), catch_line_count(line, r"failed(?! as expected)"))
            else:
                numbers = (int(found.group(passed)), int(found.group(failed)) if failed else 0)
            best = (found.start(), numbers)
    return best[1] if best else None


def count_entry(entry):
    """(passed, failed, remark) of one ctest entry."""
    passed, failed = last_summary(entry.findtext("system-out") or "") or (0, 0)
    ran_well = entry.get("status") == "run" and entry.find("failure") is None and entry.find("skipped") is None
    if not ran_well and failed == 0:
        return passed, 1, "did not end well: a crash, a time limit, or it was not run"
    if ran_well and passed + failed == 0:
        return 0, 1, "says nothing of what it tested"
    return passed, failed, ""


def main(report, ctest_status, soak_status=None):
    total_passed = total_failed = 0
    print()
    for entry in ElementTree.parse(report).getroot().iter("testcase"):
        passed, failed, remark = count_entry(entry)
        total_passed += passed
        total_failed += failed
        print(f"{entry.get('name'):12} {passed:5} passed {failed:5} failed  {float(entry.get('time') or 0):6.1f} s  {remark}".rstrip())
    if soak_status is not None:  # run apart, after the others: one test more
        total_passed += soak_status == 0
        total_failed += soak_status != 0
        print(f"{'soak':12} {soak_status == 0:5} passed {soak_status != 0:5} failed")
    if ctest_status != 0 and total_failed == 0:
        print("ctest itself failed")
        total_failed = 1
    if total_passed == 0 and total_failed == 0:
        print("no test was run")
        total_failed = 1
    print(f"{total_passed} passed, {total_failed} failed")
    return 1 if total_failed else 0


sys.exit(main(sys.argv[1], *map(int, sys.argv[2:])))
