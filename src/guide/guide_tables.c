// SPDX-License-Identifier: MIT
// What may stand in each file of data/guide.
#include "guide/guide_read.h"

#define FAULT(member) offsetof(DwGuideFault, member)
#define SIGN(member) offsetof(DwGuideSign, member)
#define TEST(member) offsetof(DwGuideTest, member)
#define REMEDY(member) offsetof(DwGuideRemedy, member)

static const DwGuideField fault_fields[] = {
    {"name", FAULT(name), DW_GUIDE_TEXT, true},
    {"area", FAULT(area), DW_GUIDE_TEXT, true},
    {"prior", FAULT(prior), DW_GUIDE_NUMBER, true},
    {"drives", FAULT(drives), DW_GUIDE_TEXT, false},
    {"has", FAULT(has), DW_GUIDE_TEXT, false},
    {"belt", FAULT(by_drive[DW_GUIDE_BELT]), DW_GUIDE_NUMBER, false},
    {"idler", FAULT(by_drive[DW_GUIDE_IDLER]), DW_GUIDE_NUMBER, false},
    {"direct", FAULT(by_drive[DW_GUIDE_DIRECT]), DW_GUIDE_NUMBER, false},
    {"old", FAULT(old), DW_GUIDE_NUMBER, false},
    {"remedy", FAULT(remedy), DW_GUIDE_TEXT, true},
    {"sound", FAULT(sound), DW_GUIDE_TEXT, false},
    {"source", FAULT(source), DW_GUIDE_TEXT, true},
};

static const DwGuideField symptom_fields[] = {
    {"ask", SIGN(ask), DW_GUIDE_TEXT, true},
    {"phrases", SIGN(phrases), DW_GUIDE_TEXTS, true},
    {"perhaps", SIGN(perhaps), DW_GUIDE_TEXTS, false},
    {"first", SIGN(first), DW_GUIDE_TEXT, false},
    {"leak", SIGN(leak), DW_GUIDE_NUMBER, true},
    {"alike", SIGN(alike), DW_GUIDE_TEXT, false},
    {"caution", SIGN(caution), DW_GUIDE_TEXT, false},
    {"not_with", SIGN(not_with), DW_GUIDE_TEXT, false},
    {"by", SIGN(by), DW_GUIDE_TEXTS, true},
    {"source", SIGN(source), DW_GUIDE_TEXT, true},
};

static const DwGuideField finding_fields[] = {
    {"ask", SIGN(ask), DW_GUIDE_TEXT, true},
    {"test", SIGN(test), DW_GUIDE_TEXT, true},
    {"leak", SIGN(leak), DW_GUIDE_NUMBER, true},
    {"by", SIGN(by), DW_GUIDE_TEXTS, true},
    {"measures", SIGN(measures), DW_GUIDE_TEXT, false},
    {"not_with", SIGN(not_with), DW_GUIDE_TEXT, false},
    {"reading", SIGN(reading), DW_GUIDE_TEXTS, false},
    {"line", SIGN(flutter_line), DW_GUIDE_TEXTS, false},
    {"source", SIGN(source), DW_GUIDE_TEXT, true},
};

static const DwGuideField test_fields[] = {
    {"name", TEST(name), DW_GUIDE_TEXT, true},
    {"do", TEST(does), DW_GUIDE_TEXTS, true},
    {"minutes", TEST(minutes), DW_GUIDE_NUMBER, true},
    {"tools", TEST(tools), DW_GUIDE_TEXT, true},
    {"risk", TEST(risk_word), DW_GUIDE_TEXT, true},
    {"mains", TEST(mains), DW_GUIDE_TEXT, false},
    {"procedure", TEST(procedure), DW_GUIDE_TEXT, false},
    {"not_with", TEST(not_with), DW_GUIDE_TEXT, false},
    {"caution", TEST(caution), DW_GUIDE_TEXT, false},
    {"source", TEST(source), DW_GUIDE_TEXT, true},
};

static const DwGuideField remedy_fields[] = {
    {"name", REMEDY(name), DW_GUIDE_TEXT, true},
    {"operation", REMEDY(operation), DW_GUIDE_TEXT, false},
    {"minutes", REMEDY(minutes), DW_GUIDE_TEXT, false},
    {"order", REMEDY(order), DW_GUIDE_NUMBER, true},
    {"opens", REMEDY(opens), DW_GUIDE_TEXT, true},
    {"tools", REMEDY(tools), DW_GUIDE_TEXT, false},
    {"parts", REMEDY(parts), DW_GUIDE_TEXT, false},
    {"stock", REMEDY(stock), DW_GUIDE_TEXT, false},
    {"lubricant", REMEDY(lubricant), DW_GUIDE_TEXTS, false},
    {"torque", REMEDY(torque), DW_GUIDE_TEXTS, false},
    {"caution", REMEDY(caution), DW_GUIDE_TEXT, true},
    {"never", REMEDY(never), DW_GUIDE_TEXTS, false},
    {"mains", REMEDY(mains), DW_GUIDE_TEXT, false},
    {"source", REMEDY(source), DW_GUIDE_TEXT, true},
};

#define COUNT(rows) (sizeof(rows) / sizeof *(rows))

const DwGuideTable dw_guide_faults_table = {"faults.ini", sizeof(DwGuideFault), FAULT(key),
                                            FAULT(line),  fault_fields,         COUNT(fault_fields)};
const DwGuideTable dw_guide_symptoms_table = {"symptoms.ini", sizeof(DwGuideSign), SIGN(key),
                                              SIGN(line),     symptom_fields,      COUNT(symptom_fields)};
const DwGuideTable dw_guide_findings_table = {"findings.ini", sizeof(DwGuideSign), SIGN(key),
                                              SIGN(line),     finding_fields,      COUNT(finding_fields)};
const DwGuideTable dw_guide_tests_table = {"tests.ini", sizeof(DwGuideTest), TEST(key),
                                           TEST(line),  test_fields,         COUNT(test_fields)};
const DwGuideTable dw_guide_remedies_table = {"remedies.ini", sizeof(DwGuideRemedy), REMEDY(key),
                                              REMEDY(line),   remedy_fields,         COUNT(remedy_fields)};
