using Contracts.Agreements;

namespace Contracts.Proposals;

/// <summary>How a proposal ended.</summary>
public enum ProposalEnd
{
    /// <summary>Nobody has decided on it.</summary>
    Open,

    /// <summary>A second person approved it; what it proposed was done with that.</summary>
    Approved,

    /// <summary>A second person, or its maker, put it aside; nothing was done.</summary>
    Declined,
}

/// <summary>A change that one person proposed, as a decision about it meets it.</summary>
/// <param name="Id">Its name.</param>
/// <param name="Change">What is to be done, with the maker as its actor and a key that follows from the proposal.</param>
/// <param name="Maker">Who proposed it.</param>
/// <param name="End">What became of it.</param>
/// <param name="By">Who decided on it, or null while it is open.</param>
public sealed record Proposal(string Id, Command Change, string Maker, ProposalEnd End, string? By)
{
    private const string KeyPrefix = "proposal:";

    /// <summary>The key of the command that a proposal's approval carries out: it happens once, however often it is approved.</summary>
    public static string KeyOf(string id) => KeyPrefix + id;

    /// <summary>The proposal that a fact's key says it came from, or null.</summary>
    public static string? OfKey(string key) => key.StartsWith(KeyPrefix, StringComparison.Ordinal) ? key[KeyPrefix.Length..] : null;
}

/// <summary>
/// Decides on proposals: what takes two persons is proposed by one and approved by another, and both are recorded with the facts.
/// Whether the change itself is possible is for the rules of the change to say, when it is proposed and again when it is approved.
/// </summary>
public static class ProposalDesk
{
    /// <summary>Why something cannot be proposed, or null.</summary>
    /// <param name="command">The proposal.</param>
    /// <param name="earlier">What is known under its name, or null.</param>
    public static Refusal? Fault(Command.Propose command, Proposal? earlier)
    {
        if (Unnamed(command) is { } unnamed) { return unnamed; }
        if (string.IsNullOrWhiteSpace(command.Origin.Reason)) { return new Refusal(RefusalCode.ReasonMissing, "A proposal must say why.", "reason"); }
        return earlier is null ? null : new Refusal(RefusalCode.ProposalAlreadyMade, $"A proposal '{command.Proposal}' was made already.", "proposal");
    }

    /// <summary>The change to be carried out, with both names on it, or why it is not.</summary>
    public static (Command? Change, Refusal? Refusal) Approve(Command.Approve command, Proposal? given)
    {
        if ((Unnamed(command) ?? Undecidable(command.Proposal, given)) is { } refusal) { return (null, refusal); }
        return IsSame(command.Origin.By!, given!.Maker)
            ? (null, new Refusal(RefusalCode.SecondPersonNeeded, $"{given.Maker} proposed it; somebody else must approve it.", "by"))
            : (given.Change with { Origin = given.Change.Origin with { Approved = command.Origin.By, Trace = command.Origin.Trace } }, null);
    }

    /// <summary>Why a proposal cannot be put aside, or null. Its maker may take it back.</summary>
    public static Refusal? Fault(Command.Decline command, Proposal? given)
    {
        if ((Unnamed(command) ?? Undecidable(command.Proposal, given)) is { } refusal) { return refusal; }
        return string.IsNullOrWhiteSpace(command.Origin.Reason) ? new Refusal(RefusalCode.ReasonMissing, "Say why it is put aside.", "reason") : null;
    }

    /// <summary>Capital letters and blanks around make no second person.</summary>
    private static bool IsSame(string one, string other) => string.Equals(one.Trim(), other.Trim(), StringComparison.OrdinalIgnoreCase);

    private static Refusal? Unnamed(Command command) => string.IsNullOrWhiteSpace(command.Origin.By)
        ? new Refusal(RefusalCode.FieldMissing, "A proposal, and what is decided on it, names a person.", "by")
        : null;

    private static Refusal? Undecidable(string id, Proposal? given) => given switch
    {
        null => new Refusal(RefusalCode.ProposalUnknown, $"No proposal '{id}' was made.", "proposal"),
        { End: ProposalEnd.Approved } => new Refusal(RefusalCode.ProposalSettled, $"{given.By} approved it already.", "proposal"),
        { End: ProposalEnd.Declined } => new Refusal(RefusalCode.ProposalSettled, $"{given.By} put it aside; propose it anew.", "proposal"),
        _ => null,
    };
}
