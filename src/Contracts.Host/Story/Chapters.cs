using Spectre.Console;

namespace Contracts.Host.Story;

/// <summary>The chapters of the demo: each with a heading and the command that shows the same.</summary>
internal static class Chapters
{
    /// <summary>Begins a chapter.</summary>
    /// <param name="heading">What it is about, in a sentence.</param>
    /// <param name="command">What to type to see the same.</param>
    public static void Begin(string heading, string command)
    {
        AnsiConsole.WriteLine();
        AnsiConsole.MarkupLine($"[bold]{Markup.Escape(heading)}[/]");
        AnsiConsole.MarkupLine($"[dim]$ {Markup.Escape(command)}[/]");
    }

    /// <summary>A line of the story.</summary>
    public static void Say(string text) => AnsiConsole.WriteLine(text);
}
