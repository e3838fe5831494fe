using System.Text.Json.Serialization;
using Contracts.Agreements;
using Contracts.Instruments;
using Contracts.Store.Bank;
using Contracts.Store.Books;
using Contracts.Store.Proposals;
using Contracts.Store.Quotes;
using Contracts.Store.Vault;

namespace Contracts.Store.Json;

/// <summary>The stored shape of every event, fixed when the code is compiled.</summary>
[JsonSourceGenerationOptions(
    PropertyNamingPolicy = JsonKnownNamingPolicy.CamelCase,
    DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
    IgnoreReadOnlyProperties = true,
    Converters = [typeof(MoneyConverter), typeof(RateConverter), typeof(LocalDateConverter), typeof(InstantConverter)])]
[JsonSerializable(typeof(ContractEvent.Signed))]
[JsonSerializable(typeof(ContractEvent.PaymentReceived))]
[JsonSerializable(typeof(ContractEvent.PaymentReversed))]
[JsonSerializable(typeof(ContractEvent.RefundIssued))]
[JsonSerializable(typeof(ContractEvent.CreditGiven))]
[JsonSerializable(typeof(ContractEvent.PlanElected))]
[JsonSerializable(typeof(ContractEvent.PlanCancelled))]
[JsonSerializable(typeof(ContractEvent.InstrumentSwapped))]
[JsonSerializable(typeof(ContractEvent.UnitReceived))]
[JsonSerializable(typeof(ContractEvent.InstrumentExchanged))]
[JsonSerializable(typeof(ContractEvent.Returned))]
[JsonSerializable(typeof(ContractEvent.BoughtEarly))]
[JsonSerializable(typeof(ContractEvent.FeeWaived))]
[JsonSerializable(typeof(ContractEvent.Moved))]
[JsonSerializable(typeof(ContractEvent.LossReported))]
[JsonSerializable(typeof(ContractEvent.Held))]
[JsonSerializable(typeof(ContractEvent.Released))]
[JsonSerializable(typeof(ContractEvent.Reinstated))]
[JsonSerializable(typeof(ContractEvent.SteppedUp))]
[JsonSerializable(typeof(ContractEvent.WrittenOff))]
[JsonSerializable(typeof(ContractEvent.Recovered))]
[JsonSerializable(typeof(ContractEvent.InstallmentCharged))]
[JsonSerializable(typeof(ContractEvent.InstallmentReversed))]
[JsonSerializable(typeof(ContractEvent.FeeCharged))]
[JsonSerializable(typeof(ContractEvent.FeeReversed))]
[JsonSerializable(typeof(ContractEvent.OwnershipTransferred))]
[JsonSerializable(typeof(ContractEvent.DocumentIssued))]
[JsonSerializable(typeof(TaxRateSet))]
[JsonSerializable(typeof(CalendarSet))]
[JsonSerializable(typeof(LawPackAdopted))]
[JsonSerializable(typeof(DepreciationPosted))]
[JsonSerializable(typeof(PeriodClosed))]
[JsonSerializable(typeof(QuoteGiven))]
[JsonSerializable(typeof(HouseholdDescribed))]
[JsonSerializable(typeof(HouseholdErased))]
[JsonSerializable(typeof(HouseholdPaid))]
[JsonSerializable(typeof(ChangeProposed))]
[JsonSerializable(typeof(ChangeApproved))]
[JsonSerializable(typeof(ChangeDeclined))]
[JsonSerializable(typeof(ContractEvent.DamageReported))]
[JsonSerializable(typeof(ContractEvent.InstrumentDelivered))]
[JsonSerializable(typeof(ContractEvent.MerchandiseCreditSpent))]
[JsonSerializable(typeof(ContractEvent.LabelIssued))]
[JsonSerializable(typeof(ContractEvent.DisputeOpened))]
[JsonSerializable(typeof(ContractEvent.DisputePaperAttached))]
[JsonSerializable(typeof(ContractEvent.DisputeAnswered))]
[JsonSerializable(typeof(ContractEvent.DisputeClosed))]
[JsonSerializable(typeof(UnitEvent.Acquired))]
[JsonSerializable(typeof(UnitEvent.Inspected))]
[JsonSerializable(typeof(UnitEvent.Graded))]
[JsonSerializable(typeof(UnitEvent.Placed))]
[JsonSerializable(typeof(UnitEvent.Shipped))]
[JsonSerializable(typeof(UnitEvent.Delivered))]
[JsonSerializable(typeof(UnitEvent.SentToRepair))]
[JsonSerializable(typeof(UnitEvent.Repaired))]
[JsonSerializable(typeof(UnitEvent.Retired))]
[JsonSerializable(typeof(UnitEvent.Sold))]
[JsonSerializable(typeof(UnitEvent.Missing))]
[JsonSerializable(typeof(UnitEvent.Restored))]
[JsonSerializable(typeof(MoneyFileReceived))]
[JsonSerializable(typeof(EntryMatched))]
[JsonSerializable(typeof(EntryProposed))]
[JsonSerializable(typeof(EntryUnmatched))]
[JsonSerializable(typeof(EntrySettled))]
[JsonSerializable(typeof(EntrySetAside))]
internal sealed partial class EventJsonContext : JsonSerializerContext;
