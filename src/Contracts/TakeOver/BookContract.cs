using System.Globalization;
using System.Text;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Commands;
using NodaTime;
using NodaTime.Text;

namespace Contracts.TakeOver;

/// <summary>A contract of a book: the signing it becomes, what happened to it later, and what the book says of its payments.</summary>
/// <param name="Row">Its line.</param>
/// <param name="Signing">The signing, dated as the book dates it.</param>
/// <param name="PlanEnd">The end of its protection plan, or null.</param>
/// <param name="Ending">Its return or purchase, or null where the book has neither.</param>
/// <param name="PaidThrough">The day through which the book says everything due is paid, or null.</param>
/// <param name="RentPaid">The rent that the book says is paid, or null.</param>
public sealed record BookContract(
    BookRow Row, Command.OnContract Signing, Command.OnContract? PlanEnd, Command.OnContract? Ending, LocalDate? PaidThrough, Money? RentPaid)
{
    /// <summary>How its payments are known where the book names no payments.</summary>
    public bool HasDeemedPayments => PaidThrough is not null || RentPaid is not null;

    /// <summary>The unit it is signed for.</summary>
    public string Serial => ((ContractCommand.Sign)Signing.Body).Instrument.Serial;

    /// <summary>
    /// Reads a line into the commands it becomes; exactly one of the two answers is given. The commands are written as lines of a command file and read as
    /// such, so that one reader decides what a field may be.
    /// </summary>
    /// <param name="row">The line.</param>
    /// <param name="shape">The book it is of.</param>
    public static (BookContract? Contract, BookFault? Fault) Read(BookRow row, BookShape shape)
    {
        var line = Fields(row, BookColumn.OfContracts);
        line["do"] = "sign";
        line["startOn"] ??= line["on"]?.DeepClone();
        if (line["terms"] is JsonObject terms)
        {
            terms["purchasePrice"] ??= terms["cashPrice"]?.DeepClone();
            if (terms["introductory"] is JsonObject first) { first["payment"] ??= "0.00"; }
            if (terms["lateFee"] is JsonObject late) { late["graceDays"] ??= 0; }
            if (shape.EarlyPurchase is { } tiers) { terms["earlyPurchase"] = JsonNode.Parse(tiers); }
        }

        var (signing, fault) = Command(row, shape, line, BookColumn.OfContracts, "");
        if (signing is null) { return (null, fault); }
        if (EndFault(row, signing.On) is { } end) { return (null, end); }
        if (row.Find("paidThrough") is not null && row.Find("rentPaid") is not null)
        {
            return (null, row.Fault("rentPaid", "the line says through which day and how much rent is paid; one of the two, the other could contradict it."));
        }

        var contract = new BookContract(row, signing, null, null, Day(row, "paidThrough"), row.Find("rentPaid") is { } rent ? Money.Parse(rent) : null);
        return contract.WithLater(shape);
    }

    private (BookContract? Contract, BookFault? Fault) WithLater(BookShape shape)
    {
        var (planEnd, fault) = Later("cancel-plan", "planEndedOn", "plan-ended", shape);
        if (fault is not null) { return (null, fault); }
        var (returned, wrong) = Later("return", "returnedOn", "returned", shape);
        if (wrong is not null) { return (null, wrong); }
        var (bought, unfit) = Later("buy", "boughtOn", "bought", shape);
        return unfit is not null ? (null, unfit) : (this with { PlanEnd = planEnd, Ending = returned ?? bought }, null);
    }

    private (Command.OnContract? Command, BookFault? Fault) Later(string name, string column, string step, BookShape shape)
    {
        if (Row.Find(column) is not { } day) { return (null, null); }
        var line = new JsonObject { ["do"] = name, ["contract"] = Signing.Contract, ["on"] = day };
        if (name == "buy") { (line["amount"], line["method"]) = (Row.Find("boughtFor"), Row.Find("boughtBy") ?? "unknown"); }
        return Command(
            Row, shape, line,
            [new BookColumn(column, BookForm.Day, "on"), new BookColumn("boughtFor", BookForm.Amount, "amount"), new BookColumn("boughtBy", BookForm.Text, "method")], step);
    }

    private static BookFault? EndFault(BookRow row, LocalDate signedOn)
    {
        if (row.Find("returnedOn") is not null && row.Find("boughtOn") is not null) { return row.Fault("boughtOn", "a contract ends once: returned, or bought."); }
        if (row.Find("boughtOn") is not null != row.Find("boughtFor") is not null)
        {
            return row.Fault(row.Find("boughtOn") is null ? "boughtOn" : "boughtFor", "a purchase has a day and what was paid for it, tax included; one of them is missing.");
        }

        foreach (var column in new[] { "planEndedOn", "returnedOn", "boughtOn" })
        {
            if (Day(row, column) is { } day && day < signedOn)
            {
                return row.Fault(column, new Refusal(RefusalCode.OnBeforeSigning, "Nothing can be dated before the signing.", column, LocalDatePattern.Iso.Format(signedOn)));
            }
        }

        return null;
    }

    private static LocalDate? Day(BookRow row, string column) => row.Find(column) is { } day ? LocalDatePattern.Iso.Parse(day).Value : null;

    /// <summary>The line of a command file that the columns with a place in it make.</summary>
    internal static JsonObject Fields(BookRow row, IReadOnlyList<BookColumn> columns)
    {
        var line = new JsonObject();
        foreach (var column in columns)
        {
            if (column.Path is not { } path || row.Find(column.Name) is not { } value) { continue; }
            var parts = path.Split('.');
            var inside = line;
            foreach (var part in parts[..^1])
            {
                inside[part] ??= new JsonObject();
                inside = (JsonObject)inside[part]!;
            }

            inside[parts[^1]] = column.Form switch
            {
                BookForm.Number => int.Parse(value, CultureInfo.InvariantCulture),
                BookForm.Flag => value == "true",
                _ => value,
            };
        }

        return line;
    }

    /// <summary>Reads a line of a command file, with the mark of the book as its key; a refusal names the shop's own column.</summary>
    internal static (Command.OnContract? Command, BookFault? Fault) Command(
        BookRow row, BookShape shape, JsonObject line, IReadOnlyList<BookColumn> columns, string step)
    {
        var mark = new TakenOver(shape.Book, shape.Digest, row.IsPayment, row.Line, step);
        (line["key"], line["by"], line["reason"]) = (mark.Key, shape.By, mark.Words);
        var (read, refusal) = CommandReader.Read(Encoding.UTF8.GetBytes(line.ToJsonString()));
        return read is not null ? ((Command.OnContract)read.Command, null) : (null, row.Fault(BookColumn.Of(refusal!.Field, columns), refusal));
    }
}
