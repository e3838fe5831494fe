using NodaTime;
using NodaTime.Text;

namespace Contracts.Books.Packet;

/// <summary>One figure or word of a report. The cases below are all there are; each fits one kind of column, and empty fits all.</summary>
public abstract record Cell
{
    /// <summary>The cell that says nothing. It is not zero: a zero is a figure.</summary>
    public static readonly Cell Nothing = new Empty();

    private Cell()
    {
    }

    /// <summary>
    /// The cell without decoration: text as it is, dates as 2026-09-30, amounts as -1234.50, nothing as no characters.
    /// Every form for programs writes this, so that they agree letter for letter.
    /// </summary>
    public string Plain => this switch
    {
        Text text => text.Value,
        Date date => LocalDatePattern.Iso.Format(date.Value),
        Count count => count.Value.ToString(System.Globalization.CultureInfo.InvariantCulture),
        Amount amount => amount.Value.ToString(),
        Empty => "",
        _ => throw new InvalidOperationException($"A cell of {GetType()} has no plain form."),
    };

    /// <summary>Words, or a number that is a name, such as an account's.</summary>
    public static Cell Of(string value) => new Text(value);

    /// <summary>A calendar day.</summary>
    public static Cell Of(LocalDate value) => new Date(value);

    /// <summary>How many of something.</summary>
    public static Cell Of(long value) => new Count(value);

    /// <summary>An amount in dollars.</summary>
    public static Cell Of(Money value) => new Amount(value);

    /// <summary>An amount in dollars, or nothing where there is none.</summary>
    public static Cell Of(Money? value) => value is { } amount ? Of(amount) : Nothing;

    /// <summary>Whether a column of this kind may hold the cell.</summary>
    public bool Fits(ColumnKind kind) => this switch
    {
        Text => kind == ColumnKind.Text,
        Date => kind == ColumnKind.Date,
        Count => kind == ColumnKind.Count,
        Amount => kind == ColumnKind.Money,
        Empty => true,
        _ => throw new InvalidOperationException($"A cell of {GetType()} fits no column."),
    };

    /// <summary>Words, or a number that is a name.</summary>
    /// <param name="Value">The words, taken as they are.</param>
    public sealed record Text(string Value) : Cell
    {
        /// <summary>The words, taken as they are.</summary>
        public string Value { get; } = Value ?? throw new ArgumentNullException(nameof(Value));
    }

    /// <summary>A calendar day.</summary>
    /// <param name="Value">The day.</param>
    public sealed record Date(LocalDate Value) : Cell;

    /// <summary>How many of something.</summary>
    /// <param name="Value">The number.</param>
    public sealed record Count(long Value) : Cell;

    /// <summary>An amount in dollars.</summary>
    /// <param name="Value">The amount; its sign is the report's own, a minus is a minus.</param>
    public sealed record Amount(Money Value) : Cell;

    /// <summary>Nothing.</summary>
    public sealed record Empty : Cell;
}
