using System.Collections.Frozen;
using System.Diagnostics;
using System.Text.Json;
using Contracts.Agreements;
using NodaTime;

namespace Contracts.Commands;

/// <summary>A command read from a line.</summary>
/// <param name="Command">The command.</param>
/// <param name="At">The recording instant it asks for under a simulated clock.</param>
/// <param name="Name">What the line calls it, such as <c>pay</c>.</param>
public sealed record ReadCommand(Command Command, Instant? At, string Name);

/// <summary>
/// Reads one line of a command file (docs/interface.md). What cannot be read is refused with its field;
/// nothing is guessed, and a name that no command has is an error rather than ignored.
/// </summary>
public static class CommandReader
{
    /// <summary>Longer lines are refused before they are parsed.</summary>
    public const int LongestLine = 64 * 1024;

    private static readonly FrozenSet<string> Names = (
        "set-tax set-calendar adopt-law bill close quote describe-household erase-household pay-household propose approve decline "
        + "settle-entry set-entry-aside sign deliver pay reverse-payment refund credit "
        + "elect-plan cancel-plan swap receive-unit report-damage issue-label "
        + "open-dispute attach-paper answer-dispute close-dispute "
        + "exchange return buy waive move report-loss hold release reinstate step-up spend-credit write-off recover issue "
        + UnitReader.Names).Split(' ').ToFrozenSet(StringComparer.Ordinal);

    private static readonly JsonDocumentOptions Strict = new() { MaxDepth = 8 };

    /// <summary>What a line may ask to be done.</summary>
    public static IReadOnlyCollection<string> Commands => Names;

    /// <summary>Reads a line; exactly one of the two answers is given.</summary>
    /// <param name="line">One JSON object.</param>
    /// <param name="key">The key of a line that has none.</param>
    public static (ReadCommand? Command, Refusal? Refusal) Read(ReadOnlyMemory<byte> line, string? key = null) => Reading(line, root => Read(root, key));

    /// <summary>Reads one JSON object; what cannot be read is refused.</summary>
    internal static (T? Read, Refusal? Refusal) Reading<T>(ReadOnlyMemory<byte> line, Func<JsonElement, T> read)
        where T : class
    {
        if (line.Length > LongestLine)
        {
            return (null, new Refusal(RefusalCode.LineTooLong, $"A line has at most {LongestLine} bytes."));
        }

        try
        {
            using var document = JsonDocument.Parse(line, Strict);
            return document.RootElement.ValueKind == JsonValueKind.Object
                ? (read(document.RootElement), null)
                : (null, new Refusal(RefusalCode.MalformedLine, "A line must be one JSON object."));
        }
        catch (JsonException fault)
        {
            return (null, new Refusal(RefusalCode.MalformedLine, $"Not a JSON object: {Place(fault)}"));
        }
        catch (Unreadable unreadable)
        {
            return (null, unreadable.Refusal);
        }
    }

    private static string Place(JsonException fault) =>
        fault.BytePositionInLine is { } at ? $"the text breaks off or goes wrong at byte {at + 1}." : "the text cannot be read.";

    private static ReadCommand Read(JsonElement root, string? key)
    {
        var fields = new Fields(root, "");
        var name = fields.Text("do");
        if (!Names.Contains(name)) { throw new Unreadable(RefusalCode.UnknownCommand, $"There is no command '{name}'.", "do"); }
        var origin = new CommandOrigin(fields.OptionalText("key") ?? key ?? fields.Text("key"), fields.OptionalText("by"), fields.OptionalText("reason"));
        var at = fields.OptionalInstant("at");
        Command command = name switch
        {
            "set-tax" => new Command.SetTax(fields.Text("jurisdiction"), TermsReader.TaxEntry(fields)) { Origin = origin },
            "set-calendar" => new Command.SetCalendar(Name(fields, "shop"), fields.Month("month")) { Origin = origin },
            "adopt-law" => new Command.AdoptLaw(fields.FileText("pack"), fields.OptionalText("counselNote")) { Origin = origin },
            "bill" => new Command.Bill(fields.Date("through")) { Origin = origin },
            "close" => new Command.Close(fields.Month("month")) { Origin = origin },
            "quote" => Quote(fields, origin),
            "describe-household" => HouseholdReader.Describe(fields, origin),
            "erase-household" => new Command.EraseHousehold(fields.Text("household")) { Origin = origin },
            "pay-household" => HouseholdPaymentReader.Read(fields, origin),
            "propose" => ProposalReader.Propose(fields, Name(fields, "proposal"), origin),
            "approve" => new Command.Approve(Name(fields, "proposal")) { Origin = origin },
            "decline" => new Command.Decline(Name(fields, "proposal")) { Origin = origin },
            "settle-entry" => EntryReader.Settle(fields, Name(fields, "entry"), origin),
            "set-entry-aside" => new Command.SetEntryAside(Name(fields, "entry")) { Origin = origin },
            _ when UnitReader.Reads(name) => new Command.OnUnit(fields.Text("serial"), fields.Date("on"), UnitReader.Body(name, fields)) { Origin = origin },
            _ => new Command.OnContract(Name(fields, "contract"), fields.Date("on"), Body(name, fields)) { Origin = origin },
        };
        return new ReadCommand(command, at, name);
    }

    /// <summary>The id of a contract, or the name of a shop or a quote.</summary>
    internal static string Name(Fields fields, string field) => Name(fields.Text(field), field);

    internal static string Name(string name, string field)
    {
        var fits = name.Length <= 40;
        foreach (var letter in name) { fits = fits && (char.IsAsciiLetterOrDigit(letter) || letter == '-'); }
        return fits ? name : throw new Unreadable(RefusalCode.FieldInvalid, $"A {field} has 1 to 40 letters, digits or hyphens.", field);
    }

    private static ContractCommand Body(string name, Fields fields) => name switch
    {
        "sign" => Sign(fields),
        "deliver" => new ContractCommand.Deliver(fields.OptionalDate("deliveredOn")),
        "pay" => new ContractCommand.Pay(fields.Amount("amount"), fields.Text("method"), fields.OptionalText("reference")),
        "reverse-payment" => new ContractCommand.ReversePayment(fields.Text("payment"), fields.Text("code")),
        "refund" => new ContractCommand.Refund(fields.Amount("amount")),
        "credit" => new ContractCommand.Credit(fields.Amount("amount")),
        "elect-plan" => new ContractCommand.ElectPlan(),
        "cancel-plan" => new ContractCommand.CancelPlan(),
        "swap" => new ContractCommand.Swap(fields.Text("serial"), fields.Date("returnBy"), fields.OptionalText("damage")),
        "report-damage" => new ContractCommand.ReportDamage(fields.Text("description"), fields.OptionalAmount("estimate")),
        "issue-label" => new ContractCommand.IssueLabel(fields.Text("serial"), fields.Text("carrier"), fields.Text("reference")),
        "open-dispute" => new ContractCommand.OpenDispute(
            Name(fields, "dispute"), fields.OneOf("claim", DisputeWords.Claims), fields.Text("says"), fields.OptionalText("about")),
        "attach-paper" => new ContractCommand.AttachPaper(Name(fields, "dispute"), fields.Text("title"), DigestReader.Read(fields)),
        "answer-dispute" => new ContractCommand.AnswerDispute(Name(fields, "dispute"), fields.OneOf("finding", DisputeWords.Findings), fields.Text("says")),
        "close-dispute" => new ContractCommand.CloseDispute(Name(fields, "dispute"), fields.OneOf("outcome", DisputeWords.Outcomes)),
        "receive-unit" => new ContractCommand.ReceiveUnit(fields.Text("serial")),
        "exchange" => new ContractCommand.Exchange(
            TermsReader.Instrument(fields.Object("instrument")), TermsReader.Terms(fields.Object("terms")),
            TermsReader.Accessories(fields)),
        "return" => new ContractCommand.Return(fields.OptionalText("condition")),
        "buy" => new ContractCommand.Buy(fields.Amount("amount"), fields.Text("method"), fields.OptionalText("reference")),
        "waive" => new ContractCommand.Waive(fields.Text("fee")),
        "move" => new ContractCommand.Move(fields.Text("state"), fields.Text("jurisdiction")),
        "report-loss" => new ContractCommand.ReportLoss(fields.OneOf("kind", "lost", "stolen"), fields.OptionalAmount("marketValue")),
        "hold" => new ContractCommand.Hold(fields.OptionalText("ground") is null ? null : fields.OneOf("ground", HoldGround.Words)),
        "release" => new ContractCommand.Release(),
        "reinstate" => new ContractCommand.Reinstate(fields.OptionalText("serial")),
        "step-up" => StepUp(fields),
        "spend-credit" => SpendCredit(fields),
        "write-off" => new ContractCommand.WriteOff(fields.Amount("amount")),
        "issue" => new ContractCommand.Issue(PaperKinds.Read(fields.OneOf("kind", PaperKinds.Words))!.Value, fields.OptionalText("for")),
        "recover" => new ContractCommand.Recover(fields.Amount("amount")),
        _ => throw new UnreachableException($"The command '{name}' has a name and no fields."),
    };

    private static ContractCommand.Sign Sign(Fields fields) => new(
        fields.Text("household"), TermsReader.Instrument(fields.Object("instrument")),
        fields.Text("state"), fields.Text("jurisdiction"), fields.Date("startOn"),
        TermsReader.Terms(fields.Object("terms")), TermsReader.Accessories(fields), fields.OptionalFlag("planElected"),
        fields.OptionalText("shop") is { } shop ? Name(shop, "shop") : null,
        fields.OptionalText("quote") is { } quote ? Name(quote, "quote") : null)
    {
        StartsAtDelivery = fields.OptionalFlag("startsAtDelivery"),
    };

    /// <summary>A quote that is recorded is somebody's; one that is only asked for need not be.</summary>
    private static Command.GiveQuote Quote(Fields fields, CommandOrigin origin)
    {
        fields.Text("household");
        return new Command.GiveQuote(Name(fields, "quote"), fields.Date("on"), QuoteReader.Offer(fields), fields.Date("validThrough")) { Origin = origin };
    }

    private static ContractCommand.StepUp StepUp(Fields fields)
    {
        var sale = fields.Object("sale");
        return new ContractCommand.StepUp(fields.Rate("share"), sale.Text("description"), sale.Amount("price"));
    }

    private static ContractCommand.SpendCredit SpendCredit(Fields fields)
    {
        var sale = fields.Object("sale");
        return new ContractCommand.SpendCredit(fields.Amount("amount"), sale.Text("description"), sale.Amount("price"));
    }
}
