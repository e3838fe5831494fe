using System.Collections.Frozen;
using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using Microsoft.Extensions.FileProviders;
using Microsoft.Extensions.Primitives;

namespace Contracts.Host.Papers;

/// <summary>
/// One version of all templates. A version that a paper was issued with is never changed: another look or other words are
/// the next version, and the old one stays, so that the old papers can be made again.
/// </summary>
public sealed class TemplateSet : IFileProvider
{
    private const string Prefix = "papers/";
    private const string Ending = ".liquid";

    private readonly SortedDictionary<string, string> files;
    private readonly FrozenSet<string> own;

    /// <summary>A set of templates by name, without their ending.</summary>
    /// <param name="version">Its version.</param>
    /// <param name="files">What is new in it.</param>
    /// <param name="before">The set before it, whose templates it takes where it has none of that name; null for the first.</param>
    public TemplateSet(int version, IEnumerable<KeyValuePair<string, string>> files, TemplateSet? before = null)
    {
        Version = version;
        this.files = before is null ? new(StringComparer.Ordinal) : new(before.files, StringComparer.Ordinal);
        var given = files.ToDictionary();
        foreach (var (name, text) in given) { this.files[name] = text; }
        own = given.Keys.ToFrozenSet(StringComparer.Ordinal);
    }

    /// <summary>Its version; greater is newer.</summary>
    public int Version { get; }

    /// <summary>A template's text.</summary>
    public string this[string name] => files[name];

    /// <summary>
    /// Whether the set brings a template: a kind of paper that came later is not in the older sets, and one that did not change is not in the newer.
    /// </summary>
    public bool Has(string name) => own.Contains(name);

    /// <summary>The sets that the program brings.</summary>
    public static IEnumerable<TemplateSet> Embedded()
    {
        var assembly = typeof(TemplateSet).Assembly;
        var sets = new SortedDictionary<int, List<KeyValuePair<string, string>>>();
        foreach (var resource in assembly.GetManifestResourceNames())
        {
            if (!resource.StartsWith(Prefix, StringComparison.Ordinal)) { continue; }
            var parts = resource[Prefix.Length..].Replace('\\', '/').Split('/');
            using var reader = new StreamReader(assembly.GetManifestResourceStream(resource)!, Encoding.UTF8);
            var version = int.Parse(parts[0], CultureInfo.InvariantCulture);
            if (!sets.TryGetValue(version, out var files)) { sets[version] = files = []; }
            files.Add(new(parts[1][..^Ending.Length], reader.ReadToEnd().ReplaceLineEndings("\n")));
        }

        var made = new List<TemplateSet>();
        foreach (var (version, files) in sets) { made.Add(new TemplateSet(version, files, made.Count > 0 ? made[^1] : null)); }
        return made;
    }

    /// <summary>The same set with one template replaced.</summary>
    public TemplateSet With(string name, string text) => new(Version, [.. files.Where(file => file.Key != name), new(name, text)]);

    /// <summary>SHA-256 over a kind's template and everything the kinds share, each with its name and length.</summary>
    public string DigestOf(string kind)
    {
        using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        foreach (var (name, text) in files)
        {
            if (name != kind && !name.StartsWith('_')) { continue; }
            var bytes = Encoding.UTF8.GetBytes(text);
            hash.AppendData(Encoding.UTF8.GetBytes(string.Create(CultureInfo.InvariantCulture, $"{name} {bytes.Length}\n")));
            hash.AppendData(bytes);
        }

        return Convert.ToHexStringLower(hash.GetHashAndReset());
    }

    /// <inheritdoc/>
    public IFileInfo GetFileInfo(string subpath) =>
        subpath.EndsWith(Ending, StringComparison.Ordinal) && files.TryGetValue(subpath[..^Ending.Length], out var text)
            ? new TemplateFile(subpath, Encoding.UTF8.GetBytes(text))
            : new NotFoundFileInfo(subpath);

    /// <inheritdoc/>
    public IDirectoryContents GetDirectoryContents(string subpath) => NotFoundDirectoryContents.Singleton;

    /// <inheritdoc/>
    public IChangeToken Watch(string filter) => NullChangeToken.Singleton;

    private sealed class TemplateFile(string name, byte[] bytes) : IFileInfo
    {
        public bool Exists => true;

        public long Length => bytes.Length;

        public string? PhysicalPath => null;

        public string Name => name;

        public DateTimeOffset LastModified => DateTimeOffset.UnixEpoch;

        public bool IsDirectory => false;

        public Stream CreateReadStream() => new MemoryStream(bytes, writable: false);
    }
}
