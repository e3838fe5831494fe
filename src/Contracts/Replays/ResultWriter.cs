using System.Text.Encodings.Web;
using Contracts.Agreements;
using Contracts.History;
using NodaTime;

namespace Contracts.Replays;

/// <summary>
/// Writes contracts as lines of a results file (<see cref="ResultLine"/>), one after another in the same room: of a hundred thousand
/// lines each is only compared. Not for two threads at once.
/// </summary>
/// <remarks>By hand, and not with a writer of JSON that checks every number: that would take longer than the fold.</remarks>
/// <param name="encoder">How signs are written that JSON does not take as they are.</param>
/// <param name="kindOf">The stored name of an event.</param>
public sealed class ResultWriter(JavaScriptEncoder encoder, Func<ContractEvent, string> kindOf)
{
    private readonly Utf8Text json = new(1 << 14);
    private readonly RememberedDigest openItems = new();
    private readonly Utf8Text posted = new();
    private readonly List<(int Account, int Movement, long Cents)> sums = [];
    private long[] was = new long[FigureVector.Numbers.Length];
    private long[] now = new long[FigureVector.Numbers.Length];
    private string[] wasWords = new string[FigureVector.Texts.Length];
    private string[] words = new string[FigureVector.Texts.Length];

    /// <summary>Lives a contract and writes its line, without the line end; good until the next one is written.</summary>
    /// <param name="history">The contract.</param>
    /// <param name="reference">Rates and law packs as they became known.</param>
    /// <param name="today">The day of the last step.</param>
    public ReadOnlySpan<byte> Write(ContractHistory history, KnownReference reference, LocalDate today)
    {
        json.Clear().Bytes("{\"contract\":"u8).Json(history.Contract, encoder).Bytes(",\"steps\":"u8).Open();
        Array.Clear(was);
        Array.Fill(wasWords, "");
        var broken = WriteSteps(history, reference, today);
        json.End();
        if (broken is not null) { json.Bytes(",\"broken\":"u8).Json(broken, encoder); }
        return json.Bytes("}"u8).Written;
    }

    private string? WriteSteps(ContractHistory history, KnownReference reference, LocalDate today)
    {
        try
        {
            foreach (var step in EventWalk.Of(history, reference, today)) { Write(step); }
            return null;
        }
        catch (Exception damage) when (damage is not (OperationCanceledException or OutOfMemoryException))
        {
            // A build that breaks off on a history is a difference of its own, and the other contracts are still to be told.
            return damage.Message;
        }
    }

    private void Write(WalkStep step)
    {
        // All that can fail comes first: a step is written whole or not at all.
        FigureVector.Read(step.Figures, now);
        FigureVector.Read(step.Figures, words, openItems);
        PostedSums.Read(step.Lines, posted, sums);
        var kind = step.Event is { } one ? kindOf(one.Event) : ResultLine.Today;
        json.Open().Next(step.Event?.Sequence ?? 0).Next(kind, encoder);
        if (step.Figures is { } figures) { json.Next(figures.On); } else { json.Next("", encoder); }
        json.Open();
        for (var index = 0; index < now.Length; index++)
        {
            if (now[index] != was[index]) { json.Next(index).Next(now[index]); }
        }

        for (var index = 0; index < words.Length; index++)
        {
            if (words[index] != wasWords[index]) { json.Next(now.Length + index).Next(words[index], encoder); }
        }

        json.Close();
        if (posted.Written.IsEmpty) { json.Next("", encoder); } else { json.NextDigestOf(posted); }
        json.Open();
        foreach (var (account, movement, cents) in sums) { json.Next(account).Next(movement).Next(cents); }
        json.Close().Close();
        (was, now, wasWords, words) = (now, was, words, wasWords);
    }
}
