using System.Collections.Frozen;
using Contracts.Agreements;
using Contracts.Instruments;
using Contracts.Store.Bank;
using Contracts.Store.Books;
using Contracts.Store.Proposals;
using Contracts.Store.Quotes;
using Contracts.Store.Vault;

namespace Contracts.Store;

/// <summary>
/// The names under which events are stored. Frozen: a name once written is read for ever, so lines are added here
/// and never changed, whatever becomes of the types.
/// </summary>
public static class EventNames
{
    public const string TaxRateSet = "tax_rate_set";

    public static IReadOnlyList<(string Name, Type Type)> All { get; } =
    [
        ("signed", typeof(ContractEvent.Signed)),
        ("payment_received", typeof(ContractEvent.PaymentReceived)),
        ("payment_reversed", typeof(ContractEvent.PaymentReversed)),
        ("refund_issued", typeof(ContractEvent.RefundIssued)),
        ("credit_given", typeof(ContractEvent.CreditGiven)),
        ("plan_elected", typeof(ContractEvent.PlanElected)),
        ("plan_cancelled", typeof(ContractEvent.PlanCancelled)),
        ("instrument_swapped", typeof(ContractEvent.InstrumentSwapped)),
        ("unit_received", typeof(ContractEvent.UnitReceived)),
        ("instrument_exchanged", typeof(ContractEvent.InstrumentExchanged)),
        ("returned", typeof(ContractEvent.Returned)),
        ("bought_early", typeof(ContractEvent.BoughtEarly)),
        ("fee_waived", typeof(ContractEvent.FeeWaived)),
        ("moved", typeof(ContractEvent.Moved)),
        ("loss_reported", typeof(ContractEvent.LossReported)),
        ("held", typeof(ContractEvent.Held)),
        ("released", typeof(ContractEvent.Released)),
        ("reinstated", typeof(ContractEvent.Reinstated)),
        ("stepped_up", typeof(ContractEvent.SteppedUp)),
        ("written_off", typeof(ContractEvent.WrittenOff)),
        ("recovered", typeof(ContractEvent.Recovered)),
        ("installment_charged", typeof(ContractEvent.InstallmentCharged)),
        ("installment_reversed", typeof(ContractEvent.InstallmentReversed)),
        ("fee_charged", typeof(ContractEvent.FeeCharged)),
        ("fee_reversed", typeof(ContractEvent.FeeReversed)),
        ("ownership_transferred", typeof(ContractEvent.OwnershipTransferred)),
        ("document_issued", typeof(ContractEvent.DocumentIssued)),
        (TaxRateSet, typeof(TaxRateSet)),
        ("calendar_set", typeof(CalendarSet)),
        ("law_pack_adopted", typeof(LawPackAdopted)),
        ("depreciation_posted", typeof(DepreciationPosted)),
        ("period_closed", typeof(PeriodClosed)),
        ("quote_given", typeof(QuoteGiven)),
        ("household_described", typeof(HouseholdDescribed)),
        ("household_erased", typeof(HouseholdErased)),
        ("household_paid", typeof(HouseholdPaid)),
        ("change_proposed", typeof(ChangeProposed)),
        ("change_approved", typeof(ChangeApproved)),
        ("change_declined", typeof(ChangeDeclined)),
        ("damage_reported", typeof(ContractEvent.DamageReported)),
        ("dispute_opened", typeof(ContractEvent.DisputeOpened)),
        ("dispute_paper_attached", typeof(ContractEvent.DisputePaperAttached)),
        ("dispute_answered", typeof(ContractEvent.DisputeAnswered)),
        ("dispute_closed", typeof(ContractEvent.DisputeClosed)),
        ("instrument_delivered", typeof(ContractEvent.InstrumentDelivered)),
        ("merchandise_credit_spent", typeof(ContractEvent.MerchandiseCreditSpent)),
        ("label_issued", typeof(ContractEvent.LabelIssued)),
        ("unit_acquired", typeof(UnitEvent.Acquired)),
        ("unit_inspected", typeof(UnitEvent.Inspected)),
        ("unit_graded", typeof(UnitEvent.Graded)),
        ("unit_placed", typeof(UnitEvent.Placed)),
        ("unit_shipped", typeof(UnitEvent.Shipped)),
        ("unit_delivered", typeof(UnitEvent.Delivered)),
        ("unit_sent_to_repair", typeof(UnitEvent.SentToRepair)),
        ("unit_repaired", typeof(UnitEvent.Repaired)),
        ("unit_retired", typeof(UnitEvent.Retired)),
        ("unit_sold", typeof(UnitEvent.Sold)),
        ("unit_missing", typeof(UnitEvent.Missing)),
        ("unit_restored", typeof(UnitEvent.Restored)),
        ("money_file_received", typeof(MoneyFileReceived)),
        ("entry_matched", typeof(EntryMatched)),
        ("entry_proposed", typeof(EntryProposed)),
        ("entry_unmatched", typeof(EntryUnmatched)),
        ("entry_settled", typeof(EntrySettled)),
        ("entry_set_aside", typeof(EntrySetAside)),
    ];

    private static readonly FrozenDictionary<Type, string> ByType = All.ToFrozenDictionary(pair => pair.Type, pair => pair.Name);

    public static string Of(ContractEvent fact) => Of(fact.GetType());

    public static string Of(Type type) =>
        ByType.TryGetValue(type, out var name) ? name : throw new StoreException($"{type.Name} has no stored name.");
}
