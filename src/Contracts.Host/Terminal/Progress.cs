namespace Contracts.Host.Terminal;

/// <summary>Tells on standard error how far long work is, when a person is watching; a pipe hears nothing.</summary>
public sealed class Progress(TextWriter? to)
{
    private const int Every = 10_000;
    private long done;

    public static Progress ToStandardError() => new(Console.IsErrorRedirected ? null : Console.Error);

    public void Add(int count, string what)
    {
        var before = done;
        done += count;
        if (to is not null && before / Every != done / Every) { to.WriteLine($"{done:N0} {what}"); }
    }
}
