using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Host.Reconstruct;
using Contracts.Store.Proposals;
using Contracts.Terms;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Host.Serving.Pages;

/// <summary>How pages write days, moments and standings: in words for people, in ISO for tables.</summary>
internal static class Say
{
    private static readonly LocalDatePattern Long = LocalDatePattern.CreateWithInvariantCulture("d MMM uuuu");
    private static readonly ZonedDateTimePattern Moment = ZonedDateTimePattern.CreateWithInvariantCulture("d MMM uuuu HH:mm:ss", null);

    /// <summary>A day in text, such as 14 Jan 2027.</summary>
    public static string Day(LocalDate day) => Long.Format(day);

    /// <summary>A day in a table or an address, such as 2027-01-14.</summary>
    public static string Iso(LocalDate day) => LocalDatePattern.Iso.Format(day);

    /// <summary>A moment in the shop's zone.</summary>
    public static string At(Instant at) => Moment.Format(at.InZone(Terminal.Session.Zone));

    /// <summary>A moment in an address.</summary>
    public static string Iso(Instant at) => InstantPattern.ExtendedIso.Format(at);

    /// <summary>A sign beside the word, for who sees no colours: full, half, empty, square.</summary>
    public static string Sign(string status) => status switch
    {
        "active" => "●",
        "on-hold" => "◐",
        "signed" => "◔",
        "owned" or "stepped-up" => "■",
        "returned" or "cancelled" => "○",
        _ => "△",
    };

    /// <summary>The name of a figure of an account, in trade words.</summary>
    public static string Figure(string name) => name switch
    {
        "equity" => "equity",
        "carriedEquity" => "of it carried over from an exchange",
        "remainingToOwn" => "left to own",
        "pastDue" => "past due",
        "unappliedCredit" => "money waiting",
        "goodwillCredit" => "goodwill waiting",
        "merchandiseCredit" => "credit on merchandise",
        "earlyPurchase.price" => "price to buy today",
        "earlyPurchase.tax" => "tax on it",
        "earlyPurchase.payoff" => "to buy today, all told",
        "paid.total" => "paid in all",
        "paid.rent" => "rent paid",
        "paid.plan" => "protection plan paid",
        "paid.tax" => "tax paid",
        "paid.fees" => "fees paid",
        "paid.accessories" => "accessories paid",
        "paid.purchase" => "purchase paid",
        "installments.total" => "installments in all",
        "installments.due" => "installments fallen due",
        "installments.paid" => "installments paid",
        "installments.remaining" => "installments to come",
        "remainingBySchedule" => "rent left by schedule",
        "totalCost" => "total cost to own",
        "costOfRental" => "cost of rental",
        "nextDue.on" => "next due on",
        "nextDue.amount" => "next amount due",
        "events" => "events",
        "lastSequence" => "last event",
        "status" => "standing",
        _ => name,
    };

    /// <summary>By what accounts can be asked for, in trade words.</summary>
    public static string MarkName(string name) => name switch
    {
        AccountMarks.Status => "standing",
        AccountMarks.Basis => "price to buy by",
        AccountMarks.Jurisdiction => "tax jurisdiction",
        AccountMarks.Law => "law pack",
        AccountMarks.Met => "met with",
        AccountMarks.Later => "learned later",
        _ => name,
    };

    /// <summary>One value of it: a stored name or a word for a program, with spaces in it.</summary>
    public static string Mark(string value, string name = "") => value switch
    {
        // A family that moved met an event of that name.
        AccountMarks.Moved when name == AccountMarks.Later => "a figure is known otherwise now",
        AccountMarks.Same when name == AccountMarks.Later => "every figure is still the same",
        "terms" => "the terms",
        _ => value.Contains('§', StringComparison.Ordinal) ? value : value.Replace('_', ' '),
    };

    /// <summary>What a proposal is to do, in a few words.</summary>
    public static string Change(RecordedProposal proposal) => proposal.Proposal.Change switch
    {
        Command.Close close => $"Close {YearMonthPattern.Iso.Format(close.Month)}",
        Command.OnContract on => Change(on),
        _ => CommandWord(proposal.Change),
    };

    /// <summary>What a command does to a contract, in a few words.</summary>
    public static string Change(Command.OnContract on) =>
        $"{Deeds.Find(CommandWriter.Name(on.Body))?.Title ?? CommandWriter.Name(on.Body)}, {Iso(on.On)}{Amount(on.Body)}";

    private static string Amount(ContractCommand body) => body switch
    {
        ContractCommand.Credit c => $", ${c.Amount}",
        ContractCommand.Refund c => $", ${c.Amount}",
        ContractCommand.WriteOff c => $", ${c.Amount}",
        ContractCommand.Pay c => $", ${c.Amount}",
        ContractCommand.Waive c => $", {c.Fee}",
        ContractCommand.ReversePayment c => $", {c.Payment}",
        _ => "",
    };

    private static string CommandWord(string change) => (string?)JsonNode.Parse(change)!["do"] ?? "";

    /// <summary>A refusal in one sentence, the right figure behind it.</summary>
    public static string Why(Refusal refusal) => refusal.RightFigure is { Length: > 0 } right && !refusal.Detail.Contains(right, StringComparison.Ordinal)
        ? $"{refusal.Detail} (right: {right})"
        : refusal.Detail;
}
