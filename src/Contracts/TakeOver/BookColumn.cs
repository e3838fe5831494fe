namespace Contracts.TakeOver;

/// <summary>How a cell is written.</summary>
public enum BookForm
{
    /// <summary>Words, as they are.</summary>
    Text,

    /// <summary>A day; read, it is ISO 8601.</summary>
    Day,

    /// <summary>Dollars with no or two decimals; read, it has a point before the cents.</summary>
    Amount,

    /// <summary>A decimal such as a share; read, it has a point.</summary>
    Share,

    /// <summary>A whole number.</summary>
    Number,

    /// <summary>Yes or no by the mapping's words; read, it is true or false.</summary>
    Flag,
}

/// <summary>A column that a book can have: its name in a mapping, how its cells are written, and where they stand in the command they become.</summary>
/// <param name="Name">The name in a mapping.</param>
/// <param name="Form">How its cells are written.</param>
/// <param name="Path">The field of the command line, such as <c>terms.monthlyRent</c>; null for what is no field of it.</param>
public sealed record BookColumn(string Name, BookForm Form, string? Path = null)
{
    /// <summary>The columns of a file of contracts, one line a contract.</summary>
    public static IReadOnlyList<BookColumn> OfContracts { get; } =
    [
        new("contract", BookForm.Text, "contract"), new("household", BookForm.Text, "household"),
        new("kind", BookForm.Text, "instrument.kind"), new("serial", BookForm.Text, "instrument.serial"), new("condition", BookForm.Text, "instrument.condition"),
        new("cost", BookForm.Amount, "instrument.cost"), new("retailValue", BookForm.Amount, "instrument.retailValue"),
        new("earlierRents", BookForm.Amount, "instrument.earlierRents"), new("schoolUse", BookForm.Flag, "instrument.schoolUse"),
        new("location", BookForm.Text, "instrument.location"),
        new("state", BookForm.Text, "state"), new("jurisdiction", BookForm.Text, "jurisdiction"), new("shop", BookForm.Text, "shop"),
        new("signedOn", BookForm.Day, "on"), new("startOn", BookForm.Day, "startOn"),
        new("cashPrice", BookForm.Amount, "terms.cashPrice"), new("purchasePrice", BookForm.Amount, "terms.purchasePrice"),
        new("introductoryMonths", BookForm.Number, "terms.introductory.months"), new("introductoryPayment", BookForm.Amount, "terms.introductory.payment"),
        new("monthlyRent", BookForm.Amount, "terms.monthlyRent"), new("creditShare", BookForm.Share, "terms.creditShare"),
        new("planMonthly", BookForm.Amount, "terms.plan.monthly"), new("planElected", BookForm.Flag, "planElected"),
        new("planInIntroductory", BookForm.Flag, "terms.plan.chargedInIntroductory"),
        new("lateFee", BookForm.Amount, "terms.lateFee.amount"), new("lateFeeGraceDays", BookForm.Number, "terms.lateFee.graceDays"),
        new("returnedPaymentFee", BookForm.Amount, "terms.returnedPaymentFee"),
        new("planEndedOn", BookForm.Day), new("paidThrough", BookForm.Day), new("rentPaid", BookForm.Amount),
        new("returnedOn", BookForm.Day), new("boughtOn", BookForm.Day), new("boughtFor", BookForm.Amount), new("boughtBy", BookForm.Text),
    ];

    /// <summary>The columns of a file of payments, one line a payment.</summary>
    public static IReadOnlyList<BookColumn> OfPayments { get; } =
    [
        new("contract", BookForm.Text, "contract"), new("paidOn", BookForm.Day, "on"), new("amount", BookForm.Amount, "amount"),
        new("method", BookForm.Text, "method"), new("reference", BookForm.Text, "reference"),
    ];

    /// <summary>The name of the column that a field of a command came from; null where it came from none.</summary>
    /// <param name="field">The field, as a refusal names it.</param>
    /// <param name="columns">The columns it may have come from.</param>
    public static string? Of(string? field, IReadOnlyList<BookColumn> columns) => field is null
        ? null
        : (columns.FirstOrDefault(column => column.Path == field) ?? columns.FirstOrDefault(column => column.Path?.EndsWith("." + field, StringComparison.Ordinal) == true))?.Name;
}
