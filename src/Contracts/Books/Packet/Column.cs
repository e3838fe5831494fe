namespace Contracts.Books.Packet;

/// <summary>What the cells of a column are.</summary>
public enum ColumnKind
{
    /// <summary>Words, or numbers that are names.</summary>
    Text,

    /// <summary>Calendar days.</summary>
    Date,

    /// <summary>How many.</summary>
    Count,

    /// <summary>Dollars.</summary>
    Money,
}

/// <summary>A column of a report.</summary>
/// <param name="Id">The name for programs, such as <c>closing</c>: a lower-case letter, then letters and digits.</param>
/// <param name="Title">The heading for people.</param>
/// <param name="Kind">What its cells are.</param>
public sealed record Column(string Id, string Title, ColumnKind Kind)
{
    /// <summary>The name for programs.</summary>
    public string Id { get; } = Shape.IsColumnId(Id) ? Id : throw new ArgumentException($"'{Id}' is not a column's id.", nameof(Id));

    /// <summary>The heading for people.</summary>
    public string Title { get; } = Shape.Line(Title, nameof(Title));

    /// <summary>What its cells are.</summary>
    public ColumnKind Kind { get; } = Enum.IsDefined(Kind) ? Kind : throw new ArgumentOutOfRangeException(nameof(Kind));
}
