using System.Collections.Concurrent;
using System.Collections.Frozen;
using System.Globalization;
using System.Text;
using System.Text.Encodings.Web;
using System.Text.Unicode;
using Contracts.Agreements;
using Contracts.Papers;
using Fluid;

namespace Contracts.Host.Papers;

/// <summary>
/// Prints papers as HTML. The data are the paper's canonical JSON and the template is Liquid, so that the two kept together
/// are the paper. No clock, no culture; what a template asks for and the data do not have stops the press, and everything
/// is escaped but what the filters below make.
/// </summary>
public sealed class PaperPress
{
    /// <summary>What the bytes are.</summary>
    public const string MediaType = "text/html; charset=utf-8";

    private const string Layout = "_layout";

    /// <summary>Letters of every script stay letters; only what HTML could take for markup is escaped.</summary>
    private static readonly HtmlEncoder Encoder = HtmlEncoder.Create(UnicodeRanges.All);

    private static readonly FluidParser Parser = new();

    private readonly FrozenDictionary<int, TemplateSet> sets;
    private readonly ConcurrentDictionary<(PaperKind Kind, int Set), Prepared> prepared = new();

    private sealed record Prepared(IFluidTemplate Template, TemplateOptions Options, string Name, string Digest);

    /// <summary>A press with sets of templates by version; the greatest is today's.</summary>
    public PaperPress(IEnumerable<TemplateSet> sets) => this.sets = sets.ToFrozenDictionary(set => set.Version);

    /// <summary>The press with the templates that the program brings.</summary>
    public static PaperPress Standard { get; } = new(TemplateSet.Embedded());

    /// <summary>Prints with the program's own templates; nothing is read before the first paper.</summary>
    public static Printed Print(byte[] paper, PaperKind kind, string? template) => Standard.PrintOne(paper, kind, template);

    /// <summary>Prints a paper.</summary>
    /// <param name="paper">The data as <see cref="PaperJson.Bytes"/> writes them.</param>
    /// <param name="kind">The kind.</param>
    /// <param name="template">The template's name with its version, or null for today's.</param>
    /// <exception cref="PressException">The paper cannot be made.</exception>
    public Printed PrintOne(byte[] paper, PaperKind kind, string? template)
    {
        var ready = Prepare(kind, template is null ? Today(kind) : VersionOf(template, kind));
        try
        {
            var html = Render(ready, PaperValues.Read(paper));
            return new Printed(Encoding.UTF8.GetBytes(html), ready.Name, ready.Digest, MediaType);
        }
        catch (Exception fault) when (fault is not PressException)
        {
            // Whatever goes wrong inside the template engine means the same: there is no such paper.
            throw new PressException($"the template {ready.Name} failed: {fault.Message}", fault);
        }
    }

    /// <summary>The template engine's own work, for the benchmark: no data are read and nothing is hashed.</summary>
    public string RenderPrepared(PaperKind kind, IReadOnlyList<KeyValuePair<string, Fluid.Values.FluidValue>> values) =>
        Render(Prepare(kind, Today(kind)), values);

    /// <summary>The name and the digest of today's template of each kind.</summary>
    public IEnumerable<(string Name, string Digest)> Templates() =>
        from version in sets.Keys.Order()
        from kind in Enum.GetValues<PaperKind>()
        where sets[version].Has(kind.Word())
        select (Prepare(kind, version).Name, Prepare(kind, version).Digest);

    /// <summary>The newest set that brings the kind.</summary>
    private int Today(PaperKind kind) => sets.Values.Where(set => set.Has(kind.Word())).Max(set => set.Version);

    private static string Render(Prepared ready, IReadOnlyList<KeyValuePair<string, Fluid.Values.FluidValue>> values)
    {
        var context = new TemplateContext(ready.Options) { CultureInfo = CultureInfo.InvariantCulture };
        foreach (var (name, value) in values) { context.SetValue(name, value); }
        return ready.Template.Render(context, Encoder);
    }

    private Prepared Prepare(PaperKind kind, int version) => prepared.GetOrAdd((kind, version), key =>
    {
        if (!sets.TryGetValue(key.Set, out var set)) { throw new PressException($"this program has no templates of version {key.Set}"); }
        var name = key.Kind.Word();
        // The layout includes the kind's template by name, and the parts that both share.
        var source = $"{{%- assign body = '{name}' -%}}{set[Layout]}";
        if (!Parser.TryParse(source, out var template, out var error)) { throw new PressException($"the template {name}.{version} cannot be read: {error}"); }
        var options = new TemplateOptions
        {
            FileProvider = set, StrictVariables = true, StrictFilters = true, CultureInfo = CultureInfo.InvariantCulture,
            Now = () => throw new PressException("a template asked for the time"),
        };
        PaperFilters.Add(options.Filters);
        return new Prepared(template, options, $"{name}.{version}", set.DigestOf(name));
    });

    private static int VersionOf(string template, PaperKind kind)
    {
        var parts = template.Split('.');
        return parts.Length == 2 && parts[0] == kind.Word() && int.TryParse(parts[1], NumberStyles.None, CultureInfo.InvariantCulture, out var version)
            ? version
            : throw new PressException($"'{template}' is not a template of a {kind.Word()}");
    }
}
