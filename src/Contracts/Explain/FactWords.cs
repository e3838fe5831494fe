using System.Diagnostics;
using Contracts.Agreements;

namespace Contracts.Explain;

/// <summary>A fact in a few trade words, for what made a difference.</summary>
internal static class FactWords
{
    /// <summary>The words of a fact that moves figures; notes move none and have none.</summary>
    public static string Of(ContractEvent fact) => fact switch
    {
        ContractEvent.Signed => "signed",
        ContractEvent.InstrumentDelivered e => e.DeliveredOn is { } day ? $"delivered on {NodaTime.Text.LocalDatePattern.Iso.Format(day)}" : "delivered",
        ContractEvent.PaymentReceived e => $"payment of {e.Amount} by {e.Method}",
        ContractEvent.PaymentReversed e => $"payment {e.Payment} reversed ({e.Code})",
        ContractEvent.RefundIssued e => $"refund of {e.Amount}",
        ContractEvent.CreditGiven e => $"goodwill credit of {e.Amount}",
        ContractEvent.PlanElected => "protection plan elected",
        ContractEvent.PlanCancelled => "protection plan cancelled",
        ContractEvent.InstrumentSwapped e => $"{e.Outgoing} swapped for {e.Serial}",
        ContractEvent.DamageReported e => $"{e.Serial} reported damaged",
        ContractEvent.DisputeOpened e => $"dispute {e.Dispute} opened",
        ContractEvent.DisputePaperAttached e => $"a paper put to the dispute {e.Dispute}",
        ContractEvent.DisputeAnswered e => $"dispute {e.Dispute} answered",
        ContractEvent.DisputeClosed e => $"dispute {e.Dispute} closed",
        ContractEvent.LabelIssued e => $"return label for {e.Serial}",
        ContractEvent.UnitReceived e => $"{e.Serial} received back",
        ContractEvent.InstrumentExchanged e => $"exchanged for {e.Instrument.Kind} {e.Instrument.Serial}",
        ContractEvent.Returned => "instrument returned",
        ContractEvent.BoughtEarly e => $"bought early with {e.Amount}",
        ContractEvent.FeeWaived e => $"fee {e.Fee} waived",
        ContractEvent.Moved e => $"moved to {e.State}, {e.Jurisdiction}",
        ContractEvent.LossReported e => $"instrument {e.Kind}",
        ContractEvent.Held => "put on hold",
        ContractEvent.Released => "released from hold",
        ContractEvent.Reinstated => "reinstated",
        ContractEvent.SteppedUp e => $"stepped up to {e.Description}",
        ContractEvent.MerchandiseCreditSpent e => $"{e.Amount} of merchandise credit spent on {e.Description}",
        ContractEvent.WrittenOff e => $"{e.Amount} written off in the books",
        ContractEvent.Recovered e => $"{e.Amount} recovered in the books",
        _ => throw new UnreachableException($"No words for {fact.GetType().Name}."),
    };
}
