using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.Disputes;
using Contracts.Explain;

namespace Contracts.Papers;

/// <summary>The answer to a dispute: what was claimed, what was found, what was said and what is so.</summary>
public static partial class PaperMaker
{
    private static DisputePart Answer(Making made)
    {
        var answered = (ContractEvent.DisputeAnswered)made.Fact!.Event;
        var dispute = DisputeRecord.Of(made.History, answered.On).Single(one => one.Dispute == answered.Dispute);
        var reading = DisputeReading.Of(made.History, made.Rates, dispute);
        return new DisputePart(
            dispute.Dispute, dispute.Claim.On, dispute.Claim.Claim, dispute.Claim.Says, dispute.Papers, answered.On, answered.Finding, answered.Says,
            reading.On, reading.SaidAt, reading.Figures, reading.Same,
            [.. reading.Since.Select(fact => new LearnedSince(fact.Event.On, fact.At, FactWords.Of(fact.Event), AmountOf(fact.Event)))]);
    }

    private static Money? AmountOf(ContractEvent fact) => fact switch
    {
        ContractEvent.PaymentReceived e => e.Amount,
        ContractEvent.BoughtEarly e => e.Amount,
        ContractEvent.CreditGiven e => e.Amount,
        ContractEvent.RefundIssued e => e.Amount,
        _ => null,
    };
}
