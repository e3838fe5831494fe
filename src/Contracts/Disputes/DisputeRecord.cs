using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.History;
using NodaTime;

namespace Contracts.Disputes;

/// <summary>A paper that was put to a dispute.</summary>
/// <param name="On">The day.</param>
/// <param name="Title">What it is.</param>
/// <param name="Digest">SHA-256 of its bytes in lower-case hex.</param>
public sealed record AttachedPaper(LocalDate On, string Title, string Digest);

/// <summary>What the shop answered.</summary>
/// <param name="Key">The key of the fact; the answer's paper is issued for it.</param>
/// <param name="On">The day.</param>
/// <param name="Finding">Whether the family was right.</param>
/// <param name="Says">The answer.</param>
/// <param name="By">Who answered.</param>
public sealed record DisputeReply(string Key, LocalDate On, string Finding, string Says, string? By);

/// <summary>A dispute as it stands on a day, as known at a moment.</summary>
/// <param name="Dispute">Its name.</param>
/// <param name="Contract">The contract.</param>
/// <param name="Opened">The fact that opened it.</param>
/// <param name="Papers">The papers put to it.</param>
/// <param name="Replies">What was answered; the last one counts.</param>
/// <param name="ClosedOn">The day it was closed, or null while it runs.</param>
/// <param name="Outcome">How it ended.</param>
public sealed record DisputeRecord(
    string Dispute, string Contract, Recorded Opened, ImmutableArray<AttachedPaper> Papers, ImmutableArray<DisputeReply> Replies, LocalDate? ClosedOn, string? Outcome)
{
    /// <summary>The claim.</summary>
    public ContractEvent.DisputeOpened Claim => (ContractEvent.DisputeOpened)Opened.Event;

    /// <summary>How it stands, as a word.</summary>
    public string Standing => ClosedOn is not null ? "closed" : Replies.IsEmpty ? "open" : "answered";

    /// <summary>The disputes of a contract, in the order of their recording.</summary>
    /// <param name="history">What is known of the contract.</param>
    /// <param name="on">What is dated later does not count.</param>
    public static ImmutableArray<DisputeRecord> Of(ContractHistory history, LocalDate on)
    {
        var found = new List<DisputeRecord>();
        // Facts are in the order of their days, and of recording within a day; one dated back before its dispute's opening was refused.
        foreach (var fact in history.Facts)
        {
            if (fact.Event.On > on) { break; }
            switch (fact.Event)
            {
                case ContractEvent.DisputeOpened e: found.Add(new DisputeRecord(e.Dispute, history.Contract, fact, [], [], null, null)); break;
                case ContractEvent.DisputePaperAttached e: Change(e.Dispute, one => one with { Papers = one.Papers.Add(new AttachedPaper(e.On, e.Title, e.Digest)) }); break;
                case ContractEvent.DisputeAnswered e:
                    Change(e.Dispute, one => one with { Replies = one.Replies.Add(new DisputeReply(fact.Key, e.On, e.Finding, e.Says, fact.Actor)) });
                    break;
                case ContractEvent.DisputeClosed e: Change(e.Dispute, one => one with { ClosedOn = e.On, Outcome = e.Outcome }); break;
                default: break; // Nothing of a dispute.
            }
        }

        return [.. found.OrderBy(one => one.Opened.Sequence)];

        void Change(string dispute, Func<DisputeRecord, DisputeRecord> to)
        {
            var index = found.FindIndex(one => one.Dispute == dispute);
            if (index >= 0) { found[index] = to(found[index]); }
        }
    }
}
