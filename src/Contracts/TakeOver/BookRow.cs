using Contracts.Agreements;

namespace Contracts.TakeOver;

/// <summary>One line of a book with its cells as they were read: days in ISO 8601, amounts with a point. An empty cell has no value.</summary>
/// <param name="IsPayment">Whether it is of the file of payments.</param>
/// <param name="Line">The line of the file, from one.</param>
/// <param name="Values">The values by the names of the columns.</param>
/// <param name="Headers">What the shop calls each of those columns.</param>
/// <param name="Figures">What the book says of the contract's figures, by their paths in an account.</param>
public sealed record BookRow(
    bool IsPayment, long Line, IReadOnlyDictionary<string, string> Values, IReadOnlyDictionary<string, string> Headers, IReadOnlyDictionary<string, Money>? Figures = null)
{
    /// <summary>The value of a column, or null where the cell is empty or the book has no such column.</summary>
    public string? Find(string name) => Values.GetValueOrDefault(name);

    /// <summary>What the shop calls a column; the name itself where it is no column of the file.</summary>
    public string Header(string name) => Headers.GetValueOrDefault(name, name);

    /// <summary>A fault of this line.</summary>
    /// <param name="column">The name of the column.</param>
    /// <param name="refusal">Why it cannot be used.</param>
    public BookFault Fault(string? column, Refusal refusal) => new(IsPayment, Line, column is null ? null : Header(column), refusal);

    /// <summary>A fault of this line that only a book can have.</summary>
    public BookFault Fault(string column, string why, string? right = null) => Fault(column, new Refusal(RefusalCode.BookUnreadable, why, column, right));
}

/// <summary>Why a line of a book cannot be taken over, and where it stands.</summary>
/// <param name="IsPayment">Whether it is of the file of payments.</param>
/// <param name="Line">The line, from one; zero where it is the file as a whole.</param>
/// <param name="Column">What the shop calls the column, or null where it is the line as a whole.</param>
/// <param name="Cause">The refusal, as the rules put it.</param>
public sealed record BookFault(bool IsPayment, long Line, string? Column, Refusal Cause)
{
    /// <summary>The refusal with the place in front.</summary>
    public Refusal Refusal => Cause with
    {
        Detail = $"{(IsPayment ? "Payments" : "Contracts")}{(Line > 0 ? $", line {Line}" : "")}{(Column is { } c ? $", {c}" : "")}: {Cause.Detail}",
        Field = Column ?? Cause.Field,
    };
}
