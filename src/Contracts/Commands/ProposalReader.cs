using System.Text;
using Contracts.Agreements;
using Contracts.Proposals;

namespace Contracts.Commands;

/// <summary>Reads a proposal and the change in it, which is written like a line of a command file without key, moment and actor.</summary>
public static class ProposalReader
{
    internal static Command.Propose Propose(Fields fields, string id, CommandOrigin origin)
    {
        var text = fields.ObjectText("change");
        var (change, refusal) = Change(id, text, origin);
        if (change is null) { throw new Unreadable(refusal!.Code, refusal.Detail, refusal.Field is { } field ? $"change.{field}" : "change", refusal.RightFigure); }
        return new Command.Propose(id, text, change) { Origin = origin };
    }

    /// <summary>The change of a proposal as a command: its maker acts, for the reason of the proposal where it names none.</summary>
    /// <param name="id">The proposal's name; the command's key follows from it.</param>
    /// <param name="text">The change as it was written.</param>
    /// <param name="origin">Who proposed it, and why.</param>
    public static (Command? Change, Refusal? Refusal) Change(string id, string text, CommandOrigin origin)
    {
        var key = Proposal.KeyOf(id);
        var (read, refusal) = CommandReader.Read(Encoding.UTF8.GetBytes(text), key);
        if (read is null) { return (null, refusal); }
        var own = read.Command.Origin;
        if (own.Key != key) { return (null, Wrong("key", "the key of a proposed change follows from the proposal")); }
        if (own.By is not null) { return (null, Wrong("by", "who proposes it is its actor")); }
        if (read.At is not null) { return (null, Wrong("at", "a proposed change is recorded when it is approved")); }
        return read.Command is Command.OnContract or Command.Close
            ? (read.Command with { Origin = new CommandOrigin(key, origin.By, own.Reason ?? origin.Reason) }, null)
            : (null, Wrong("do", $"'{read.Name}' is not proposed, only what concerns one contract, or a close"));
    }

    private static Refusal Wrong(string field, string why) => new(RefusalCode.FieldInvalid, $"'{field}': {why}.", field);
}
