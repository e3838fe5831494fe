using System.Collections.Immutable;
using Contracts.Agreements;

namespace Contracts.Commands;

/// <summary>Reads one payment of a family over its contracts.</summary>
internal static class HouseholdPaymentReader
{
    /// <summary>A contract may be named twice or a share be zero: the rules say what is wrong with that.</summary>
    public static Command.PayHousehold Read(Fields fields, CommandOrigin origin) => new(
        fields.Text("household"), fields.Date("on"), fields.Amount("amount"), fields.Text("method"), fields.OptionalText("reference"), Shares(fields))
    {
        Origin = origin,
    };

    /// <summary>Contracts and how much each is paid; none where that is not said.</summary>
    public static ImmutableArray<EntryShare> Shares(Fields fields) =>
        [.. fields.List("shares").Select(share => new EntryShare(CommandReader.Name(share.Text("contract"), "shares.contract"), share.Amount("amount")))];
}
