using Contracts.History;
using NodaTime;

namespace Contracts.Agreements;

/// <summary>
/// A dispute: opened with a claim, papers put to it, answered, closed. None of it moves a figure; what is put right, and a hold meanwhile, are facts
/// of their own under their own rules.
/// </summary>
public static partial class ContractDecider
{
    private static Decision OpenDispute(Situation now, ContractCommand.OpenDispute c)
    {
        if (Disputes(now.History, c.Dispute).Any())
        {
            return Refuse(RefusalCode.DisputeAlreadyOpened, $"The contract has a dispute {c.Dispute}.", "dispute");
        }

        if (c.About is { } about && !now.History.Entries.Any(entry => entry.Key == about && entry.Event.On <= now.On))
        {
            return Refuse(RefusalCode.DisputeSubjectUnknown, $"This contract has no fact and no paper with the key '{about}' by {Iso(now.On)}.", "about");
        }

        return Accept(new ContractEvent.DisputeOpened(c.Dispute, c.Claim, c.Says, c.About) { On = now.On });
    }

    private static Decision AttachPaper(Situation now, ContractCommand.AttachPaper c) =>
        NotRunning(now, c.Dispute) is { } refusal ? Refuse(refusal) : Accept(new ContractEvent.DisputePaperAttached(c.Dispute, c.Title, c.Digest) { On = now.On });

    private static Decision AnswerDispute(Situation now, ContractCommand.AnswerDispute c) =>
        NotRunning(now, c.Dispute) is { } refusal ? Refuse(refusal) : Accept(new ContractEvent.DisputeAnswered(c.Dispute, c.Finding, c.Says) { On = now.On });

    private static Decision CloseDispute(Situation now, ContractCommand.CloseDispute c)
    {
        if (NotRunning(now, c.Dispute) is { } refusal) { return Refuse(refusal); }
        if (c.Outcome != DisputeWords.Withdrawn && !Disputes(now.History, c.Dispute).Any(fact => fact.Event is ContractEvent.DisputeAnswered && fact.Event.On <= now.On))
        {
            return Refuse(RefusalCode.DisputeNotAnswered, $"The dispute {c.Dispute} has no answer by {Iso(now.On)}; only one that is withdrawn needs none.", "outcome");
        }

        var others = now.History.Facts.Any(fact => fact.Event is ContractEvent.DisputeOpened other && other.Dispute != c.Dispute && IsRunning(now, other.Dispute));
        return HoldGround.InForce(now.Account) is { Ground: "dispute" } && !others
            ? Refuse(RefusalCode.DisputeHoldStands, "The contract is on hold because of the dispute; release it first, so that nothing stays forgotten.", "dispute")
            : Accept(new ContractEvent.DisputeClosed(c.Dispute, c.Outcome) { On = now.On });
    }

    /// <summary>Why nothing can be recorded of a dispute on the day, or null.</summary>
    private static Refusal? NotRunning(Situation now, string dispute)
    {
        var opened = Disputes(now.History, dispute).FirstOrDefault(fact => fact.Event is ContractEvent.DisputeOpened);
        if (opened is null || opened.Event.On > now.On)
        {
            return new Refusal(
                RefusalCode.DisputeUnknown, $"The contract has no dispute {dispute} by {Iso(now.On)}.", "dispute", opened is null ? null : Iso(opened.Event.On));
        }

        return Disputes(now.History, dispute).FirstOrDefault(fact => fact.Event is ContractEvent.DisputeClosed) is { } closed
            ? new Refusal(RefusalCode.DisputeEnded, $"The dispute {dispute} was closed on {Iso(closed.Event.On)}; open another one.", "dispute")
            : null;
    }

    private static bool IsRunning(Situation now, string dispute) => NotRunning(now, dispute) is null;

    private static IEnumerable<Recorded> Disputes(ContractHistory history, string dispute) => history.Facts.Where(fact => DisputeOf(fact.Event) == dispute);

    private static string? DisputeOf(ContractEvent fact) => fact switch
    {
        ContractEvent.DisputeOpened e => e.Dispute,
        ContractEvent.DisputePaperAttached e => e.Dispute,
        ContractEvent.DisputeAnswered e => e.Dispute,
        ContractEvent.DisputeClosed e => e.Dispute,
        _ => null,
    };
}
