using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.Host.Serving.SignIn;

namespace Contracts.Host.Serving.Pages;

/// <summary>Something that is done at the counter: a command with its words and fields.</summary>
/// <param name="Name">The command.</param>
/// <param name="Title">What is done, as a person would say it.</param>
/// <param name="Button">What the button says.</param>
/// <param name="Says">What comes of it, in general.</param>
/// <param name="Fields">Its fields beside the day.</param>
public sealed record Deed(string Name, string Title, string Button, string Says, ImmutableArray<DeedField> Fields)
{
    /// <summary>Who may do it.</summary>
    public IReadOnlyList<string> Roles => CommandDoors.For(Name);

    /// <summary>Who may at least propose it to somebody who may do it.</summary>
    public static IReadOnlyList<string> Proposers => CommandDoors.For("propose");
}

/// <summary>The deeds that pages offer on a contract. A signing has a page of its own.</summary>
public static class Deeds
{
    private static readonly DeedField Reason = new("reason", "Why; it is kept");

    private static readonly ImmutableArray<DeedField> Money =
    [
        new("amount", "Amount, $", FieldKind.Amount), new("method", "By", FieldKind.Choice, Choices: ["cash", "check", "card", "ach"]),
        new("reference", "Reference, such as a receipt's number; never a card number", Needed: false),
    ];

    /// <summary>All of them; an account's page shows them by <see cref="DeedGroups"/>.</summary>
    public static ImmutableArray<Deed> All { get; } =
    [
        new("pay", "Take money", "Record payment", "The money pays what is open, oldest due first; what is over waits for the next installment.", Money),
        new("deliver", "Record the delivery", "Record delivery",
            "The rental begins on this day, where the agreement says that it begins at delivery: every due date is counted from it.",
            [new("deliveredOn", "Where the day of a delivery was recorded too early: the day it really came", FieldKind.Day, Needed: false),
                new("reason", "Why, where it was recorded wrongly", Needed: false)]),
        new("report-damage", "Report damage", "Record damage",
            "Under the plan a repair costs the family nothing. Without it the family hears the repair fee first: it is told here and is no charge. "
            + "Whether it may be asked at all follows from the agreement and the state's law.",
            [new("description", "What is wrong with it"), new("estimate", "What a repair costs, $, as told to the family", FieldKind.Amount, Needed: false)]),
        new("issue-label", "Give a return label", "Record label", "A carrier takes the unit back with it.",
            [new("serial", "Serial number of the unit that is to come back"), new("carrier", "Carrier"), new("reference", "The label's number")]),
        new("swap", "Swap a damaged instrument", "Record swap", "Another instrument goes out the same day; the damaged one is due back. Rent and equity go on.",
            [new("serial", "Serial number of the one that goes out"), new("returnBy", "The damaged one is due back by", FieldKind.Day),
                new("damage", "Key of the damage report, when there is one", Needed: false)]),
        new("receive-unit", "Take a swapped instrument back", "Record its return", "The unit is back; no fee for it will fall due.",
            [new("serial", "Serial number of the one that came back")]),
        new("exchange", "Exchange for another instrument", "Record exchange",
            "Another instrument under other terms; the equity comes along. The agreement is a new one: its paper is to be given.",
            [.. OfferFields.Unit, .. OfferFields.Terms]),
        new("return", "Take the instrument back", "Record return",
            "The contract ends; nothing further falls due. Equity stays on record for a reinstatement where the terms or the law give one.",
            [new("condition", "Condition", Needed: false)]),
        new("buy", "Sell it early", "Record purchase", "Ownership passes when the whole amount is paid today.", Money),
        new("elect-plan", "Begin the protection plan", "Begin the plan", "From the next installment on.", []),
        new("cancel-plan", "End the protection plan", "End the plan", "From the next installment on.", []),
        new("report-loss", "Report a loss", "Record loss", "What is owed for it follows from the terms and the law.",
            [new("kind", "What happened", FieldKind.Choice, Choices: ["lost", "stolen"])]),
        new("hold", "Put on hold", "Put on hold",
            "No installment falls due until it is released, and no notice is made by itself. Bankruptcy and military service have rules of federal law: ask counsel first.",
            [new("ground", "On the ground of", FieldKind.Choice, Needed: false, Choices: HoldGround.Words), Reason]),
        new("release", "Release from hold", "Release", "Installments go on.", [Reason]),
        new("open-dispute", "Open a dispute", "Record the dispute",
            "What the family says is wrong. It moves no figure; a hold and what is put right are recorded as what they are.",
            [new("dispute", "A name for it, such as D-1"), new("claim", "What is said to be wrong", FieldKind.Choice, Choices: DisputeWords.Claims),
                new("says", "The claim in few words; no names"), new("about", "Key of the payment or paper it is about", Needed: false)]),
        new("attach-paper", "Put a paper to a dispute", "Record the paper", "The shop keeps the paper; its digest goes into the history.",
            [new("dispute", "The dispute"), new("title", "What the paper is"), new("digest", "Its SHA-256, as sha256sum prints it")]),
        new("answer-dispute", "Answer a dispute", "Record the answer", "What was found. The answer can then be issued as a paper with both readings.",
            [new("dispute", "The dispute"), new("finding", "The family's claim is", FieldKind.Choice, Choices: DisputeWords.Findings),
                new("says", "The answer in few words; no names")]),
        new("close-dispute", "Close a dispute", "Close it", "It is over. A hold that stands because of it is released first.",
            [new("dispute", "The dispute"), new("outcome", "How it ended", FieldKind.Choice, Choices: DisputeWords.Outcomes)]),
        new("reverse-payment", "Undo a payment", "Record reversal", "The payment is taken back; what it paid is open again.",
            [new("payment", "Key of the payment"), new("code", "Return reason of the bank, such as R01, or entry-error"), Reason]),
        new("waive", "Waive a fee", "Waive fee", "The fee is no longer owed.", [new("fee", "The fee's id"), Reason]),
        new("credit", "Give goodwill", "Give credit", "It pays plan, tax, accessories and fees, never rent.", [new("amount", "Amount, $", FieldKind.Amount), Reason]),
        new("step-up", "Step up to a better instrument", "Record step-up", "A share of the equity becomes a credit on that sale, and the contract ends.",
            [new("share", "Share of the equity, at most 1.00"), new("sale.description", "What is sold"), new("sale.price", "Its price, $", FieldKind.Amount)]),
        new("spend-credit", "Spend merchandise credit", "Record the sale",
            "Rent credit that an exchange left over goes into a sale of the shop, as much of it as there is, and is never paid out.",
            [new("amount", "Amount, $", FieldKind.Amount), new("sale.description", "What is sold"), new("sale.price", "Its price, $", FieldKind.Amount)]),
        new("reinstate", "Take up a returned contract again", "Record reinstatement", "Rent goes on where it stopped, within the days the terms or the law give.",
            [new("serial", "Serial number, when it is another unit", Needed: false)]),
        new("write-off", "Write off what is past due", "Record write-off", "It leaves the receivables; money that comes later recovers it.",
            [new("amount", "Amount, $", FieldKind.Amount), Reason]),
        new("refund", "Give money back", "Record refund", "Out of money that waits, oldest first.", [new("amount", "Amount, $", FieldKind.Amount)]),
    ];

    /// <summary>Those that put something right, as a dispute ends with: they are proposed where they take a second person.</summary>
    public static IReadOnlyList<Deed> Corrections { get; } =
    [
        .. new[] { "reverse-payment", "waive", "credit", "refund", "hold", "release", "open-dispute", "attach-paper", "answer-dispute", "close-dispute" }
            .Select(name => Find(name)!),
    ];

    /// <summary>The deed of a name, or null.</summary>
    public static Deed? Find(string name) => All.FirstOrDefault(deed => deed.Name == name);
}
