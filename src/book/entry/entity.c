// SPDX-License-Identifier: MIT
// The list of all entities, in an order in which each refers to earlier ones.
#include "book/shop/arm.h"
#include "book/store/attachment.h"
#include "book/store/bound.h"
#include "book/shop/cartridge.h"
#include "book/money/consent.h"
#include "book/shop/customer.h"
#include "book/shop/deck.h"
#include "book/shop/device.h"
#include "book/money/estimate.h"
#include "book/job/disposal.h"
#include "book/job/finding.h"
#include "book/job/intake.h"
#include "book/money/invoice.h"
#include "book/money/payment.h"
#include "book/job/job.h"
#include "book/job/measurement.h"
#include "book/model/model.h"
#include "book/job/photo.h"
#include "book/shop/register.h"
#include "book/job/set_up.h"
#include "book/shop/stock.h"
#include "book/job/verdict.h"
#include "book/job/wording.h"
#include "book/job/work.h"

#include <string.h>

static const DwEntity *const entities[] = {
    &dw_customer_entity,
    &dw_deck_entity,
    &dw_ownership_entity,
    &dw_deck_value_entity,
    &dw_arm_entity,
    &dw_cartridge_entity,
    &dw_stylus_entity,
    &dw_bound_entity,
    &dw_test_record_entity,
    &dw_instrument_entity,
    &dw_instrument_check_entity,
    &dw_chain_entity,
    &dw_stock_entity,
    &dw_job_entity,
    &dw_stage_entity,
    &dw_contact_entity,
    &dw_intake_entity,
    &dw_accessory_entity,
    &dw_mark_entity,
    &dw_measurement_entity,
    &dw_kept_reading_entity,
    &dw_verdict_entity,
    &dw_acknowledgement_entity,
    &dw_finding_entity,
    &dw_lubrication_entity,
    &dw_part_entity,
    &dw_stock_move_entity,
    &dw_estimate_entity,
    &dw_estimate_line_entity,
    &dw_operation_entity,
    &dw_consent_entity,
    &dw_invoice_entity,
    &dw_invoice_line_entity,
    &dw_payment_entity,
    &dw_notice_entity,
    &dw_disposal_entity,
    &dw_attachment_entity,
    &dw_photo_scale_entity,
    &dw_photo_measure_entity,
    &dw_set_up_entity,
    &dw_wording_entity,
    &dw_device_entity,
    &dw_model_entity,
    &dw_model_value_entity,
    &dw_model_fault_entity,
};

const DwEntity *dw_entity_at(size_t index)
{
    return index < sizeof entities / sizeof *entities ? entities[index] : NULL;
}

const DwEntity *dw_entity_find(const char *name)
{
    for (size_t i = 0; i < sizeof entities / sizeof *entities; i++)
        if (strcmp(entities[i]->name, name) == 0)
            return entities[i];
    return NULL;
}
