using System.Diagnostics;
using Contracts.Agreements;
using Contracts.History;
using Contracts.Store;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Host.Reconstruct;

/// <summary>One event in trade words, with the money it moved and whether the present view has overtaken it.</summary>
public sealed record HistoryLine(Recorded Entry, string Name, string What, Money? Money, bool Overtaken)
{
    public static IReadOnlyList<HistoryLine> Of(ContractHistory history, ReferenceData rates)
    {
        var last = history.Facts.Max(fact => fact.Event.On);
        var state = AccountFold.At(history, rates, last);
        return [.. history.Entries.Select(entry => new HistoryLine(
            entry, EventNames.Of(entry.Event), Say(entry.Event), Effect(entry.Event), state?.IsOvertaken(entry.Sequence) ?? false))];
    }

    /// <summary>An event for itself: whether it is overtaken only its history can say, and is not said.</summary>
    internal static HistoryLine Alone(Recorded entry) => new(entry, EventNames.Of(entry.Event), Say(entry.Event), Effect(entry.Event), false);

    /// <summary>The amount an event is about, signed as the family sees it: what comes in or is owed more is positive.</summary>
    private static Money? Effect(ContractEvent fact) => fact switch
    {
        ContractEvent.PaymentReceived e => e.Amount,
        ContractEvent.BoughtEarly e => e.Amount,
        ContractEvent.RefundIssued e => Contracts.Money.Zero - e.Amount,
        ContractEvent.CreditGiven e => e.Amount,
        ContractEvent.LossReported e => e.Charge,
        ContractEvent.SteppedUp e => e.Credit,
        ContractEvent.MerchandiseCreditSpent e => Contracts.Money.Zero - e.Amount,
        ContractEvent.WrittenOff e => e.Amount,
        ContractEvent.Recovered e => e.Amount,
        ContractEvent.InstallmentCharged e => e.Tax + e.Rent + e.Plan,
        ContractEvent.InstallmentReversed e => Contracts.Money.Zero - (e.Tax + e.Rent + e.Plan),
        ContractEvent.FeeCharged e => e.Amount + e.Tax,
        ContractEvent.FeeReversed e => Contracts.Money.Zero - (e.Amount + e.Tax),
        _ => null,
    };

    private static string Start(ContractEvent.Signed signed) =>
        signed.StartsAtDelivery ? $"starting at delivery, expected on {Iso(signed.StartOn)}" : $"starting {Iso(signed.StartOn)}";

    public static string Say(ContractEvent fact) => fact switch
    {
        ContractEvent.Signed e => $"signed for {e.Instrument.Kind} {e.Instrument.Serial}, {Start(e)}{(e.Quote is { } quote ? $", as quoted in {quote}" : "")}",
        ContractEvent.InstrumentDelivered e => e.DeliveredOn is { } day ? $"in truth delivered on {Iso(day)}; the rental begins on that day" : "delivered; the rental begins",
        ContractEvent.PaymentReceived e => $"payment received by {e.Method}",
        ContractEvent.PaymentReversed e => $"payment {e.Payment} reversed ({e.Code})",
        ContractEvent.RefundIssued => "refund issued",
        ContractEvent.CreditGiven => "goodwill credit given",
        ContractEvent.PlanElected => "protection plan elected",
        ContractEvent.PlanCancelled => "protection plan cancelled",
        ContractEvent.InstrumentSwapped e =>
            $"{e.Outgoing} swapped for {e.Serial}; {e.UnreturnedFee} if it is not back by {Iso(e.ReturnBy)}{Limit(e.LimitedBy)}"
            + $"{(e.Damage is { } damage ? $", for the damage of {damage}" : "")}",
        ContractEvent.UnitReceived e => $"{e.Serial} received back",
        ContractEvent.DamageReported e => $"{e.Serial} reported damaged: {e.Description}; "
            + (e.Covered ? "the plan covers a repair" : e.RepairFee is { } told ? $"told that a repair costs {told}, which is no charge" : "no repair fee told"),
        ContractEvent.DisputeOpened e => $"dispute {e.Dispute} opened ({e.Claim}{(e.About is { } about ? $", about {about}" : "")}): {e.Says}",
        ContractEvent.DisputePaperAttached e => $"a paper put to the dispute {e.Dispute}: {e.Title}, SHA-256 {e.Digest}",
        ContractEvent.DisputeAnswered e => $"dispute {e.Dispute} answered ({e.Finding}): {e.Says}",
        ContractEvent.DisputeClosed e => $"dispute {e.Dispute} closed ({e.Outcome})",
        ContractEvent.LabelIssued e => $"return label for {e.Serial} with {e.Carrier}, {e.Reference}",
        ContractEvent.InstrumentExchanged e => $"exchanged for {e.Instrument.Kind} {e.Instrument.Serial}"
            + (e.NewAgreement is { } section ? $"; a new agreement under {section}" : ""),
        ContractEvent.Returned => "instrument returned",
        ContractEvent.BoughtEarly e => $"bought early for {e.Price} and tax {e.Tax}, price by {e.Basis}",
        ContractEvent.FeeWaived e => $"fee {e.Fee} waived",
        ContractEvent.Moved e => $"moved to {e.State}, {e.Jurisdiction}",
        ContractEvent.LossReported e => $"instrument {e.Kind}{Limit(e.LimitedBy)}",
        ContractEvent.Held e => e.Ground is { } ground ? $"put on hold ({ground})" : "put on hold",
        ContractEvent.Released => "released from hold",
        ContractEvent.Reinstated => "reinstated",
        ContractEvent.SteppedUp e => $"stepped up to {e.Description}",
        ContractEvent.MerchandiseCreditSpent e => $"merchandise credit spent on {e.Description}, sold for {e.SalePrice}",
        ContractEvent.WrittenOff => "written off in the books",
        ContractEvent.Recovered => "recovered in the books",
        ContractEvent.InstallmentCharged e => $"installment: rent {e.Rent}, plan {e.Plan}, tax {e.Tax}",
        ContractEvent.InstallmentReversed => "installment reversed",
        ContractEvent.FeeCharged e => $"fee {e.Fee}",
        ContractEvent.FeeReversed e => $"fee {e.Fee} reversed",
        ContractEvent.DocumentIssued e => e.For is null ? $"{e.Kind} issued" : $"{e.Kind} for {e.For} issued",
        ContractEvent.OwnershipTransferred e => $"ownership passed ({e.Basis})",
        _ => throw new UnreachableException($"No words for {fact.GetType().Name}."),
    };

    private static string Limit(string? section) => section is null ? "" : $"; no more under {section}";

    private static string Iso(LocalDate date) => NodaTime.Text.LocalDatePattern.Iso.Format(date);
}
