// SPDX-License-Identifier: MIT
#include "book/job/finding.h"
#include "book/store/words.h"

static const DwField fields[] = {
    {"job_id", "Job", DW_FIELD_REFERENCE, offsetof(DwFinding, job_id), .refers = "job", .required = true},
    {"symptom", "Symptom", DW_FIELD_TEXT, offsetof(DwFinding, symptom), .lines = true, .required = true},
    {"confirmed", "Confirmed", DW_FIELD_CHOICE, offsetof(DwFinding, confirmed),
     .choices = "not tried|confirmed|not confirmed|intermittent"},
    {"test", "Test", DW_FIELD_TEXT, offsetof(DwFinding, test), .lines = true,
     .help = "The test that told this cause from the others."},
    {"cause", "Cause", DW_FIELD_TEXT, offsetof(DwFinding, cause), .lines = true,
     .help = "For a third party: consistent with, or not consistent with."},
    {"confidence", "Confidence", DW_FIELD_CHOICE, offsetof(DwFinding, confidence),
     .choices = "not said|certain|likely|possible"},
    {"action", "Action", DW_FIELD_TEXT, offsetof(DwFinding, action), .lines = true},
    {"after", "As left", DW_FIELD_TEXT, offsetof(DwFinding, after), .lines = true},
};

const DwEntity dw_finding_entity = {"finding",
                                    "finding",
                                    sizeof(DwFinding),
                                    fields,
                                    sizeof fields / sizeof *fields,
                                    .of_customer = DW_JOBS_OF_CUSTOMER};
