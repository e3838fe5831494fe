using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Proposals;

namespace Contracts.Store.Proposals;

/// <summary>The streams of proposals; no contract id has a colon.</summary>
public static class ProposalStreams
{
    private const string Prefix = "proposal:";

    /// <summary>The stream of a proposal.</summary>
    public static string Of(string proposal) => Prefix + proposal;
}

/// <summary>Somebody proposed a change. Stored for ever: add fields, never rename or remove. Who and why are headers.</summary>
/// <param name="Proposal">Its name.</param>
/// <param name="Contract">The contract it concerns; left out for the close of a month.</param>
/// <param name="Change">The command, as it was written.</param>
public sealed record ChangeProposed(string Proposal, string? Contract, string Change)
{
    /// <summary>The proposal as a decision meets it, while it is open.</summary>
    /// <param name="maker">Who proposed it.</param>
    /// <param name="reason">Why.</param>
    public Proposal ToProposal(string maker, string? reason)
    {
        var (change, refusal) = ProposalReader.Change(Proposal, Change, new CommandOrigin("", maker, reason));
        return change is null
            ? throw new StoreException($"The proposal {Proposal} was recorded and cannot be read any more: {refusal!.Detail}")
            : new Proposal(Proposal, change, maker, ProposalEnd.Open, null);
    }
}

/// <summary>A second person approved a proposal; its change was recorded in the same transaction, or is a close that may run now.</summary>
/// <param name="Proposal">Its name.</param>
public sealed record ChangeApproved(string Proposal);

/// <summary>A proposal was put aside.</summary>
/// <param name="Proposal">Its name.</param>
public sealed record ChangeDeclined(string Proposal);
