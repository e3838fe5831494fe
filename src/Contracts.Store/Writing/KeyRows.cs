using System.Text.Unicode;

namespace Contracts.Store.Writing;

/// <summary>The keys of a batch as rows of their table. Its memory serves one batch after another.</summary>
internal sealed class KeyRows
{
    /// <summary>What the rows are sent with.</summary>
    public const string Copy = "copy contracts.command_keys (key, contract, recorded_at, outcome) from stdin (format binary)";

    private const int RoomForOutcome = 64;

    private readonly CopyBuffer rows = new();

    /// <summary>The rows of these keys and of no others.</summary>
    public CopyBuffer Fill(IReadOnlyList<NewKey> keys)
    {
        rows.Clear();
        foreach (var key in keys)
        {
            rows.Row(4).Words(key.Key);
            _ = key.Contract is { } contract ? rows.Words(contract) : rows.Nothing();
            rows.Moment(key.At);
            var outcome = rows.OpenJson();
            Utf8.TryWrite(rows.GetSpan(RoomForOutcome), $$"""{"events": {{key.Events}}}""", out var written);
            rows.Advance(written);
            rows.Close(outcome);
        }

        return rows;
    }
}
